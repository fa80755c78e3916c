//! All integration tests: one binary, one module a subject.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]
