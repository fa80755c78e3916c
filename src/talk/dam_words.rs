//! The words that people have for what befalls a dam about the birth and after it. English for now.
//!
//! Plain forms, as in `words`. What is also said of calves is in `WHOSE`: it is a mark of the dam only where she
//! is named beside it.

pub(super) const PLACENTA: &str = "\
    placenta, placenta passed, placenta out, afterbirth, afterbirth passed, after birth, \
    passed placenta, passed the placenta, passed afterbirth, passed the afterbirth, \
    cleaned, cleansed, cleansing, cleansing passed, passed cleansing, passed her cleansing, \
    dropped her cleansing, dropped her afterbirth, dropped the afterbirth, dropped the \
    placenta, afterbirth away, placenta away";
pub(super) const TEMPERATURE: &str = "\
    temp, temperature, temp is, temperature is, her temp, her temp is, her temperature, her \
    temperature is, cow temp, rectal temp";
pub(super) const HELPED: &str = "\
    helped, unassisted, unaided, easy pull, light pull, hard pull, caesarean, c section";
pub(super) const CALF_DEAD: &str = "\
    lost it, lost calf, lost the calf, lost her calf, calf lost, calf has died";
pub(super) const DISCHARGE: &str = "\
    foul discharge, smelly discharge, stinking discharge, rotten discharge, bad discharge, \
    foul smelling discharge, discharge smells, discharge stinks";
pub(super) const DOWN: &str = "\
    cow down, cow is down, down cow, she is down, shes down, wont get up, cant get up, \
    cannot get up, will not get up, cow wont get up, cow cant get up, cant rise, wont rise, \
    unable to get up, unable to rise";
pub(super) const RISEN: &str = "\
    cow up, cow is up, back on her feet, got up again, cow back up, cow is back up, cow up \
    again, cow standing, cow is standing, cow on her feet, cow got up, cow is on her feet";
pub(super) const OFF_FEED: &str = "\
    off feed, off her feed, not eating, off food, off her food, off her grub, off the feed, \
    gone off her feed, wont eat, will not eat, not eating again, stopped eating, left her \
    feed";
pub(super) const EATING: &str = "\
    eating, eats, eating again, back eating, eating well, back on feed, back on her feed";
pub(super) const WOBBLY: &str = "\
    wobbly, staggering, cold ears, unsteady, wobbling, swaying, ears cold, ears are cold, \
    wobbly on her feet, unsteady on her feet, milk fever, has milk fever";
pub(super) const PROLAPSE: &str = "\
    prolapse, prolapsed, calf bed out, womb out, calf bed is out, womb is out, uterus out, \
    uterus is out, put her calf bed out, put her bed out, her bed is out";
pub(super) const HAS_MILK: &str = "\
    has milk, milk to spare, plenty of milk, spare milk, has spare milk, lots of milk";
pub(super) const COLLECTED: &str = "\
    collected, carcass collected, carcass gone, dead calf collected, dead cow collected, \
    dead calf gone, dead cow gone, body collected, fallen stock collected";
pub(super) const WHOSE: &str = "\
    wont get up, cant get up, cannot get up, will not get up, cant rise, wont rise, unable \
    to get up, unable to rise, wobbly, staggering, cold ears, unsteady, wobbling, swaying, \
    ears cold, ears are cold, wont eat, will not eat";
