//! Sensors on invented dams: what they say of the truth, and how badly.
//!
//! A collar counts contractions and carries its own time, not always the right one; a tail sensor
//! says up or down and carries none; a camera says what it sees, or thinks it sees.

use std::collections::BTreeSet;

use super::dice::Dice;
use super::farm::{Cow, Farm};
use crate::herd::sign::Mark;
use crate::plain::ids::DeviceId;
use crate::plain::moment::{Moment, Span};
use crate::sensor::packet::{Packet, Payload};

pub(super) struct Sensor {
    pub(super) id: DeviceId,
    pub(super) kind: Kind,
    /// Which of the farm's cows wears it, from when to when.
    pub(super) cow: usize,
    pub(super) from: Moment,
    pub(super) until: Moment,
    /// How far its clock is ahead.
    ahead: Span,
    /// Nothing comes out of it in between, unless somebody mends it.
    mute: Option<(Moment, Moment)>,
    /// What a camera has told already.
    told: BTreeSet<Mark>,
    /// What the broker keeps of it.
    pub(super) kept: Option<(Packet, Spoken)>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Collar,
    Tail,
    Camera,
}

/// What a message says, for those who check: never for the watch.
#[derive(Clone, Debug)]
pub(super) struct Spoken {
    pub(super) device: DeviceId,
    /// The time it carries.
    pub(super) at: Option<Moment>,
    pub(super) signs: Vec<Said>,
    /// Broken bytes say nothing at all.
    pub(super) whole: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Said {
    Contractions(u32),
    Flag(Mark),
}

impl Kind {
    pub(super) const ALL: [Self; 3] = [Self::Collar, Self::Tail, Self::Camera];

    const fn letter(self) -> char {
        match self {
            Self::Collar => 'k',
            Self::Tail => 't',
            Self::Camera => 'c',
        }
    }

    pub(super) const fn every(self) -> Span {
        match self {
            Self::Collar => Span::minutes(12),
            Self::Tail => Span::minutes(20),
            Self::Camera => Span::minutes(10),
        }
    }
}

/// What a camera may see.
pub(super) const SEEN_BY_CAMERA: [Mark; 6] =
    [Mark::WaterBag, Mark::Feet, Mark::Nose, Mark::Calf, Mark::Sucked, Mark::Placenta];

impl Sensor {
    pub(super) fn new(
        cow: usize,
        of: &Cow,
        kind: Kind,
        worn: (Moment, Moment),
        dice: &mut Dice,
    ) -> Self {
        let (from, until) = worn;
        let ahead = match (kind, dice.below(30)) {
            (Kind::Collar | Kind::Camera, 0..=3) => dice.span(Span::seconds(5), Span::seconds(110)),
            (Kind::Collar, 4) => Span::minutes(15),
            (Kind::Collar | Kind::Camera, 5..=8) => Span::seconds(-95),
            (Kind::Collar | Kind::Camera | Kind::Tail, _) => Span::ZERO,
        };
        let mute = dice.chance(120).then(|| {
            let worn = until.since(from);
            let begins = from + dice.span(Span::hours(2), worn);
            (begins, begins + dice.minutes(50, 600))
        });
        Self {
            id: DeviceId::new(&format!("{}-{}", kind.letter(), of.animal)),
            kind,
            cow,
            from,
            until,
            ahead,
            mute,
            told: BTreeSet::new(),
            kept: None,
        }
    }

    /// Somebody looked at it.
    pub(super) fn mended(&mut self, now: Moment) {
        if let Some((_, until)) = &mut self.mute {
            *until = (*until).min(now);
        }
    }

    /// What it says now, if anything.
    pub(super) fn speaks(
        &mut self,
        now: Moment,
        farm: &Farm,
        dice: &mut Dice,
    ) -> Option<(Packet, Spoken)> {
        if self.mute.is_some_and(|(from, until)| from <= now && now < until) {
            return None;
        }
        let cow = &farm.cows[self.cow];
        // Whole seconds, as its message has them.
        let own = Moment::from_seconds((now + self.ahead).seconds());
        let (topic, body, at, signs) = match self.kind {
            Kind::Collar => {
                let n = efforts(cow, now, dice);
                let body = format!("{{\"contractions\":{n},\"t\":{}}}", own.seconds());
                (format!("yard/collar/{}", self.id), body, Some(own), vec![Said::Contractions(n)])
            }
            Kind::Tail => {
                let up = tail_is_up(cow, now, dice);
                let body = format!("{{\"raised\":{up},\"battery\":{}}}", 60 + dice.below(40));
                let signs = if up { vec![Said::Flag(Mark::TailRaised)] } else { Vec::new() };
                (format!("yard/tail/{}/state", self.id), body, None, signs)
            }
            Kind::Camera => {
                let sees = self.sees(cow, now, dice);
                let flags: String =
                    sees.iter().map(|mark| format!(",\"{}\":true", mark.word())).collect();
                let body = format!("{{\"at\":\"{}\",\"restless\":false{flags}}}", own.rfc3339());
                let signs = sees.into_iter().map(Said::Flag).collect();
                (format!("yard/camera/{}", self.id), body, Some(own), signs)
            }
        };
        let spoken = Spoken { device: self.id.clone(), at, signs, whole: true };
        let packet = Packet { topic, payload: Payload(body.into_bytes()), retained: false };
        Some(self.or_garbage(packet, spoken, dice))
    }

    fn or_garbage(
        &mut self,
        mut packet: Packet,
        mut spoken: Spoken,
        dice: &mut Dice,
    ) -> (Packet, Spoken) {
        if dice.chance(6) {
            packet.payload.0.truncate(7);
            spoken.signs.clear();
            spoken.whole = false;
        } else {
            let kept = Packet { retained: true, ..packet.clone() };
            self.kept = Some((kept, spoken.clone()));
        }
        (packet, spoken)
    }

    /// New since it last looked; in the dark it misses half, and now and then it sees a bag of feed.
    fn sees(&mut self, cow: &Cow, now: Moment, dice: &mut Dice) -> Vec<Mark> {
        let mut sees = Vec::new();
        for (mark, _) in cow.calving.iter().flat_map(|calving| calving.by(now)) {
            if SEEN_BY_CAMERA.contains(&mark) && !self.told.contains(&mark) && dice.chance(500) {
                self.told.insert(mark);
                sees.push(mark);
            }
        }
        if dice.chance(2) {
            sees = vec![*dice.pick(&[Mark::WaterBag, Mark::WaterBag, Mark::Feet])];
        }
        sees
    }
}

/// Contractions since the last message.
fn efforts(cow: &Cow, now: Moment, dice: &mut Dice) -> u32 {
    let bout = cow.bout.is_some_and(|(from, until)| from <= now && now < until);
    let most = match &cow.calving {
        Some(calving) if calving.strains(now) => 9,
        Some(calving) if calving.restless <= now && now < calving.calf => 3,
        Some(_) | None if bout => 4,
        Some(_) | None if dice.chance(60) => 1,
        Some(_) | None => 0,
    };
    u32::try_from(dice.below(most + 1)).unwrap_or(0)
}

fn tail_is_up(cow: &Cow, now: Moment, dice: &mut Dice) -> bool {
    let labours = |calving: &super::farm::Calving| calving.restless <= now && now < calving.calf;
    let often = match &cow.calving {
        Some(calving) if labours(calving) => 600,
        Some(_) | None => 3,
    };
    dice.chance(often)
}
