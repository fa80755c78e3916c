//! Asking a rule about a device: whether it is silent, or itself ill. Pure, and without a timer: the
//! answer is computed from when it was last heard, each time anew.

use super::ask::clock;
use super::book::{IllRule, SilenceRule};
use super::verdict::{Figures, Verdict};
use crate::config::rules::Ill;
use crate::gear::device::Device;
use crate::plain::moment::{Moment, Span};

/// A device may miss this many of its own beats before it counts as silent.
pub const BEATS: i64 = 3;

/// What is known about a device when it is asked whether it is silent.
#[derive(Clone, Copy, Debug)]
pub struct Listening {
    /// Nobody listened before this: our own start, the broker's return, the day it was put on.
    pub since: Option<Moment>,
    /// How often it says it speaks; learnt from its habit where nobody says.
    pub every: Option<Span>,
    /// Another rule tells somebody if it talks and is not understood.
    pub babble_is_told: bool,
}

impl Listening {
    /// So many beats, none if nobody knows how often it speaks.
    pub fn patience(&self) -> Span {
        Span::from_millis(self.every.map_or(0, |every| every.millis().saturating_mul(BEATS)))
    }
}

impl SilenceRule {
    pub fn ask(&self, device: Option<&Device>, listening: Listening, now: Moment) -> Verdict {
        let Some(listened) = listening.since else {
            // The way to us is down: that is another rule's finding, not the device's fault.
            return Verdict::Fine;
        };
        let heard = device.and_then(|device| device.heard);
        // Whoever talks and is not understood is not silent: that is an illness of its own. Where no rule
        // speaks of it, silence is all that would tell.
        let talked = device.and_then(|device| {
            let babbles = listening.babble_is_told && device.ills.has(Ill::NotUnderstood, now);
            device.babble.as_ref().filter(|_| babbles)?.last.as_ref().map(|(_, at)| *at)
        });
        let since = [heard, talked].into_iter().flatten().fold(listened, Moment::max);
        let figures = Figures::Silence { since: heard.unwrap_or(listened), never: heard.is_none() };
        clock(since, self.limit.max(listening.patience()), now, figures)
    }
}

impl IllRule {
    /// The illness that has lasted longest speaks for all.
    pub fn ask(&self, device: &Device, now: Moment) -> Verdict {
        let lasts = |until: Option<Moment>, since: Moment| {
            // What is over by itself before it is due hides no other.
            until.is_none_or(|until| until > since + self.limit)
        };
        let concerns = device
            .ills
            .at(now)
            .filter(|ailing| self.with.contains(&ailing.ill) && lasts(ailing.until, ailing.since));
        let Some(ailing) = concerns.min_by_key(|ailing| (ailing.since, ailing.ill)) else {
            return Verdict::Fine;
        };
        let (ill, since, why) = (ailing.ill, ailing.since, ailing.why.clone());
        match clock(since, self.limit, now, Figures::Ill { ill, since, why }) {
            Verdict::Wrong(wrong) => {
                Verdict::Wrong(super::verdict::Wrong { ends: ailing.until, ..wrong })
            }
            fine @ (Verdict::Fine | Verdict::FineUntil(_)) => fine,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::herd::stage::Stage;
    use crate::plain::ids::RuleName;
    use crate::rules::verdict::Wrong;

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    #[test]
    fn a_device_is_not_silent_while_nobody_listens() {
        let rule = SilenceRule {
            name: RuleName::new("sensor silent"),
            kind: None,
            limit: Span::minutes(45),
            while_stages: vec![Stage::Carrying],
        };
        let heard = Device { heard: Some(minute(0)), ..Device::default() };
        let from = |since| Listening { since, every: Some(Span::minutes(5)), babble_is_told: true };
        assert_eq!(rule.ask(Some(&heard), from(None), minute(90)), Verdict::Fine);
        assert_eq!(
            rule.ask(Some(&heard), from(Some(minute(60))), minute(90)),
            Verdict::FineUntil(minute(105)),
            "we came back at minute 60"
        );
        let every = Some(Span::minutes(30));
        let slow = Listening { since: Some(minute(0)), every, babble_is_told: true };
        assert_eq!(rule.ask(None, slow, minute(46)), Verdict::FineUntil(minute(90)));
        assert!(matches!(
            rule.ask(None, slow, minute(90)),
            Verdict::Wrong(Wrong { figures: Figures::Silence { never: true, .. }, .. })
        ));
    }

    #[test]
    fn whoever_talks_and_is_not_understood_is_not_silent() {
        let rule = SilenceRule {
            name: RuleName::new("sensor silent"),
            kind: None,
            limit: Span::minutes(45),
            while_stages: vec![Stage::Carrying],
        };
        let listening = Listening { since: Some(minute(0)), every: None, babble_is_told: true };
        let mut device = Device { heard: Some(minute(0)), ..Device::default() };
        device.babble.get_or_insert_default().misses(b"?", minute(40));
        assert!(matches!(rule.ask(Some(&device), listening, minute(46)), Verdict::Wrong(_)));
        device.ills.begins(Ill::NotUnderstood, minute(40), "?");
        assert_eq!(rule.ask(Some(&device), listening, minute(46)), Verdict::FineUntil(minute(85)));
        let untold = Listening { babble_is_told: false, ..listening };
        let asked = rule.ask(Some(&device), untold, minute(46));
        assert!(matches!(asked, Verdict::Wrong(_)), "no other rule would tell anybody");
    }

    #[test]
    fn an_illness_is_told_after_its_limit_and_one_that_ends_by_itself_ends() {
        let rule = IllRule {
            name: RuleName::new("sensor ill"),
            with: vec![Ill::Nonsense, Ill::Restarts],
            kind: None,
            limit: Span::minutes(30),
            while_stages: vec![Stage::Carrying],
        };
        let mut device = Device::default();
        assert_eq!(rule.ask(&device, minute(0)), Verdict::Fine);
        device.ills.begins(Ill::Flat, minute(0), "of another kind");
        assert_eq!(rule.ask(&device, minute(90)), Verdict::Fine);
        device.ills.begins(Ill::Restarts, minute(10), "three times");
        assert_eq!(rule.ask(&device, minute(10)), Verdict::FineUntil(minute(40)));
        device.ills.lasts_until(Ill::Restarts, minute(100));
        let Verdict::Wrong(wrong) = rule.ask(&device, minute(40)) else { panic!("it is ill") };
        assert_eq!((wrong.since, wrong.ends), (minute(40), Some(minute(100))));
        assert_eq!(rule.ask(&device, minute(100)), Verdict::Fine);
    }

    #[test]
    fn an_illness_that_passes_before_it_is_due_hides_no_other() {
        let rule = IllRule {
            name: RuleName::new("sensor ill"),
            with: vec![Ill::Restarts, Ill::Flat],
            kind: None,
            limit: Span::minutes(60),
            while_stages: vec![Stage::Carrying],
        };
        let mut device = Device::default();
        device.ills.begins(Ill::Restarts, minute(0), "three times");
        device.ills.lasts_until(Ill::Restarts, minute(30));
        assert_eq!(rule.ask(&device, minute(1)), Verdict::Fine);
        device.ills.begins(Ill::Flat, minute(10), "38.5");
        assert_eq!(rule.ask(&device, minute(11)), Verdict::FineUntil(minute(70)));
    }
}
