//! Who is with which dam: whoever made a mark of her, or said that they go to her, and until when that stands. What
//! is open about her is theirs meanwhile, and a new alert about her goes to them first.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::moves::Move;
use super::watchman::Watchman;
use crate::config::Config;
use crate::plain::ids::{Animal, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::rules::verdict::Subject;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Attending {
    pub(super) who: PersonName,
    pub(super) until: Moment,
}

impl Watchman {
    /// Somebody is with this dam until a moment.
    pub fn note_attending(&mut self, animal: &Animal, who: &PersonName, until: Moment) {
        self.attending.insert(animal.clone(), Attending { who: who.clone(), until });
    }

    /// Somebody made a mark of this dam, so somebody is there: what is still open about her is theirs
    /// for a while.
    pub fn attends(
        &mut self,
        config: &Config,
        animal: &Animal,
        who: &PersonName,
        now: Moment,
        span: Span,
    ) -> Vec<Move> {
        let mut moves = Vec::new();
        let mut knows = BTreeSet::new();
        for no in self.about(&Subject::Dam(animal.clone())) {
            let alert = &self.open[&no];
            // What has only now been raised has not been heard by anybody: it runs its own course.
            if alert.raised < now && alert.holder().is_none_or(|holder| holder == who) {
                let told: Vec<PersonName> = alert.told.keys().cloned().collect();
                moves.extend(self.hold(no, who, (now, now + span), &knows));
                moves.extend(self.let_holder_know(config, no, who));
                knows.extend(told);
            }
        }
        moves
    }

    /// The one dam this person said they are with; `None` if there is none, or more than one.
    pub fn attended_by(&self, who: &PersonName, now: Moment) -> Option<Animal> {
        let theirs = |one: &(&Animal, &Attending)| one.1.who == *who && one.1.until > now;
        let mut animals = self.attending.iter().filter(theirs).map(|(animal, _)| animal);
        let only = animals.next()?;
        animals.next().is_none().then(|| only.clone())
    }

    /// Who said they are with the dam a finding is about.
    pub fn attending(&self, subject: &Subject, now: Moment) -> Option<PersonName> {
        let Subject::Dam(animal) = subject else {
            return None;
        };
        let attending = self.attending.get(animal)?;
        (attending.until > now).then(|| attending.who.clone())
    }
}
