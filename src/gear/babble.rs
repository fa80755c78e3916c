//! A device that talks and is not understood: neither silent nor speaking (needs.md N59).

use serde::{Deserialize, Serialize};

use crate::plain::moment::Moment;

/// So many in a row are no accident (common practice, no source).
const IN_A_ROW: u8 = 5;
/// Of the last sixteen, so many: a device that is understood half of the time is not understood.
const OF_SIXTEEN: u32 = 8;
/// So many understood in a row, and it is well again.
const WELL_AGAIN: u8 = 5;
/// What is shown of a message that nobody understands.
const SAMPLE_MAX: usize = 60;

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Babble {
    /// A bit for each of the last messages, the newest lowest: 1 was not understood.
    lately: u16,
    heard: u8,
    row: u8,
    understood: u8,
    /// The last message that was not understood, in print, and when it came.
    pub last: Option<(String, Moment)>,
}

impl Babble {
    /// `true` if it is no accident any more.
    pub fn misses(&mut self, payload: &[u8], now: Moment) -> bool {
        self.turn(true);
        self.row = self.row.saturating_add(1);
        self.understood = 0;
        self.last = Some((sample(payload), now));
        let many = u32::from(self.heard) >= u16::BITS && self.lately.count_ones() >= OF_SIXTEEN;
        self.row >= IN_A_ROW || many
    }

    /// `true` if it is understood again.
    pub fn understands(&mut self) -> bool {
        self.turn(false);
        self.row = 0;
        self.understood = self.understood.saturating_add(1);
        self.understood >= WELL_AGAIN
    }

    /// "5 messages in a row", "9 of the last 16 messages".
    pub fn words(&self) -> String {
        let shown = self.last.as_ref().map_or("", |(sample, _)| sample.as_str());
        let how_many = if self.row >= IN_A_ROW {
            format!("{} messages in a row", self.row)
        } else {
            format!("{} of the last {} messages", self.lately.count_ones(), u16::BITS)
        };
        format!("it is talking, but {how_many} made no sense; the last: {shown}")
    }

    fn turn(&mut self, missed: bool) {
        self.lately = (self.lately << 1) | u16::from(missed);
        self.heard = self.heard.saturating_add(1);
    }
}

/// The beginning of a payload: text as it is, bytes as hex, nothing that moves a cursor.
fn sample(payload: &[u8]) -> String {
    let text = std::str::from_utf8(payload).ok();
    match text.filter(|text| !text.chars().any(char::is_control)) {
        Some(text) => text.chars().take(SAMPLE_MAX).collect(),
        None => payload.iter().take(SAMPLE_MAX / 2).map(|byte| format!("{byte:02x}")).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_few_broken_messages_are_an_accident_and_a_row_of_them_is_not() {
        let mut babble = Babble::default();
        for turn in 0..60 {
            if turn % 4 == 0 {
                assert!(!babble.misses(b"?", Moment::default()), "every fourth is an accident");
            } else {
                babble.understands();
            }
        }
        let row: Vec<bool> = (0..5).map(|_| babble.misses(b"?", Moment::default())).collect();
        assert_eq!(row, [false, false, false, false, true]);
    }

    #[test]
    fn one_in_two_is_too_many() {
        let mut babble = Babble::default();
        let turns = (0..40).map(|turn| {
            turn % 2 == 0 || {
                babble.understands();
                false
            }
        });
        let turns: Vec<bool> = turns.collect();
        let missed = turns.into_iter().filter(|missed| *missed);
        assert_eq!(missed.count(), 20);
        let mut babble = Babble::default();
        let said = (0..20).any(|_| {
            babble.understands();
            babble.misses(b"?", Moment::default())
        });
        assert!(said);
    }

    #[test]
    fn the_last_message_is_kept_short_and_printable() {
        let mut babble = Babble::default();
        babble.misses(&[0x1b, b'[', 0xff], Moment::default());
        assert_eq!(babble.last.as_ref().unwrap().0, "1b5bff");
        babble.misses("x".repeat(100_000).as_bytes(), Moment::default());
        assert_eq!(babble.last.as_ref().unwrap().0.len(), SAMPLE_MAX);
    }

    #[test]
    fn it_is_well_again_once_understood_several_times_in_a_row() {
        let mut babble = Babble::default();
        (0..6).for_each(|_| {
            babble.misses(b"?", Moment::default());
        });
        let row: Vec<bool> = (0..5).map(|_| babble.understands()).collect();
        assert_eq!(row, [false, false, false, false, true]);
    }
}
