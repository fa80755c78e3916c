//! What lasts: her watch after a birth, and what a later word ends, such as down and up again.
//!
//! The newest word decides, whenever it was told.

use super::dam::Dam;
use super::proves::ended_by;
use super::sign::Mark;
use super::stage::Stage;
use crate::plain::moment::{Moment, Span};

impl Dam {
    /// How many calves she is to have: by the scan, unless somebody has felt that there are no more.
    pub fn expects(&self) -> u8 {
        if self.case().felt_single().is_some() { 1 } else { self.scanned }
    }

    /// She is dead, and a calf of hers lives.
    pub fn leaves_an_orphan(&self) -> bool {
        self.track(Mark::DamDead).is_some() && self.calves().iter().any(|calf| !calf.is_dead())
    }

    /// How long a dam of her species is watched after a birth.
    pub fn watched_after_birth(&self) -> Span {
        self.spans.after_birth
    }

    /// When she is let go, if nothing is open about her by then.
    pub fn closes(&self) -> Option<Moment> {
        (self.stage == Stage::Recovering)
            .then(|| {
                let over = self.track(Mark::Calf).or_else(|| self.track(Mark::Aborted));
                over.map(|over| over.first + self.spans.after_birth)
            })
            .flatten()
    }

    /// Since when what a mark begins has lasted: from the first of its kind after the newest word that ended it.
    /// `None` if nobody said it, or it has ended since.
    pub fn lasts(&self, mark: Mark) -> Option<Moment> {
        self.lasts_unless(mark, ended_by(mark))
    }

    /// The same, where these marks end it.
    pub fn lasts_unless(&self, mark: Mark, ends: &[Mark]) -> Option<Moment> {
        let track = self.track(mark)?;
        // The calf is told of again and again; it was born once.
        let ended = ends.iter().filter_map(|end| {
            let track = self.track(*end)?;
            Some(if *end == Mark::Calf { track.first } else { track.last })
        });
        let ended = ended.max();
        let Some(ended) = ended else { return Some(track.first) };
        // Said at the same minute, the end came second: "down 0200, up again 0200".
        let after = self.case().of(mark).map(|noted| noted.at).filter(|at| *at > ended).min();
        after.or_else(|| Some(track.last).filter(|last| *last > ended))
    }
}
