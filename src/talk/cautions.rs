//! The usual cautions for whoever goes to a calving animal at night: short in a text, full on paper.
//!
//! Sources: facts.md Z-04, Z-08 (escape route; second person from memory), Z-10 and Z-11 (pregnant
//! women; diseases), Z-15 (gloves), Z-17, Z-20 (traction).

/// For a text message.
pub const SHORT: &str = " Not alone.";

/// For every mail.
pub const ALWAYS: &str = "
This program does not replace your vet or your own eyes. Follow local rules.
";

/// For every mail that sends somebody to a calving animal.
pub const FULL: &str = "
Before you go in
  Never alone if it can be helped; say where you are.
  Know your way out first. A fresh cow can turn on anybody.
  Wear gloves, wash after. Pregnant women keep away from births and afterbirth.
  Never a vehicle to pull; two people at most, and only while she strains.
This program does not replace your vet or your own eyes. Follow local rules.
";
