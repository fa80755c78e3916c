//! What people measure stands among what devices measured, each thing as if a device of its own had told it.

/// The sign under which a calf's temperatures are kept.
pub const CALF_TEMPERATURE: &str = "calf temp";

/// The kind of sensor that a person is.
pub const KIND: &str = "hand";

/// No device has a place from here on: far more of them than are ever remembered.
const FIRST: u32 = u32::MAX - 255;

/// The place as which what is told of this calf is kept. The last place is the dam's own.
pub const fn of_calf(calf: u8) -> u32 {
    FIRST + calf as u32 % 255
}

/// The place of what is measured of the dam herself.
pub const DAM: u32 = u32::MAX;

/// Whether what stands at this place was told by hand.
pub const fn is_by_hand(device: u32) -> bool {
    device >= FIRST
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_calf_has_a_place_of_its_own_and_the_dam_another() {
        let places: std::collections::BTreeSet<u32> = (0..30).map(of_calf).collect();
        assert_eq!(places.len(), 30);
        assert!(places.iter().all(|place| is_by_hand(*place) && *place != u32::MAX));
        assert!(is_by_hand(u32::MAX) && !is_by_hand(200_000));
    }
}
