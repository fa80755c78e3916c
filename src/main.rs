//! Hands the command line over and exits with what comes back.
fn main() {}
