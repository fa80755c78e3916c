//! How people say what they see of a dam before her calf is out. English for now.
//!
//! All words stand in their plain form, as in `words`.

pub(super) const WATER_BAG: &str = "water bag, waterbag, waters, bag, waters broken, waters broke, waters have \
            broken, waters gone, waters burst, water broke, bag burst, bag has burst, water \
            bag burst";
pub(super) const FEET: &str = "feet, foot, feet showing, front feet, two feet, 2 feet, both feet, both front \
            feet, calf feet, calfs feet";
pub(super) const BACKWARD: &str = "backward, backwards, hind feet, back feet, calf backward, calf backwards, calf is \
            backwards, coming backward, coming backwards, soles up";
pub(super) const STAINED: &str =
    "yellow fluid, yellow water, yellow waters, yellow, stained, yellow stain, meconium";
pub(super) const BAGGED_UP: &str = "bagged up, bagging up, udder full, full udder, bag full, full bag, bag filling, udder filling, bag tight, \
            tight bag";
pub(super) const ALL_BORN: &str =
    "all born, all out, all calves born, all calves out, last one out, finished calving";
