//! The usual cautions for whoever goes to a calving animal at night: short in a text, full on paper.
//!
//! Sources: facts.md Z-04, Z-08 (escape route; second person from memory), Z-10 and Z-11 (pregnant
//! women; diseases), Z-12 (fever after contact), Z-15 (gloves, mask), Z-17, Z-20 (traction), X-23 (call the
//! vet), X-24 (notifiable disease).

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

/// For whoever tells of a calf lost before term, or is told of it. What is to be kept for the vet, who else
/// is kept away, and that the others are watched, is common practice, no source.
pub const ABORTED: &str = "
A calf lost before term
  Gloves, eye protection and a mask: the fluids can carry disease to people. Wash after.
  Pregnant women keep away, from the dam, the bedding and dirty clothes too. So does who has a bad heart valve.
  Call the vet before anything is cleared away. Keep calf and afterbirth for the vet, out of reach of dogs.
  Keep her apart from the others, and watch the others.
  In many places an abortion must be reported: ask the vet about brucellosis and the local rules.
  Fever or flu in the weeks after: see a doctor, and say what you touched.
";
