//! What is wrong with a device itself, and since when: told apart from whatever may be wrong with the
//! dam that wears it.
//!
//! It only remembers. Each illness is found by the file that knows it, and whether anybody is told is
//! for the rules to say.

use serde::{Deserialize, Serialize};

use crate::config::rules::Ill;
use crate::plain::moment::Moment;

/// The reason goes into a mail; a payload's sample may stand in it.
const WHY_MAX: usize = 200;

/// One illness that has not ended.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ailing {
    pub ill: Ill,
    pub since: Moment,
    /// The figures behind it, as the end of a sentence.
    pub why: String,
    /// It is over by itself then, if nothing more happens.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until: Option<Moment>,
}

/// Never more than one of each kind.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Illnesses(Vec<Ailing>);

impl Illnesses {
    /// The reasons may move while the illness stays the same. `true` if it is news.
    pub fn begins(&mut self, ill: Ill, since: Moment, why: &str) -> bool {
        let why: String = why.chars().take(WHY_MAX).collect();
        if let Some(old) = self.0.iter_mut().find(|old| old.ill == ill) {
            old.why = why;
            let over = old.until.is_some_and(|until| until <= since);
            if over {
                (old.since, old.until) = (since, None);
            }
            return over;
        }
        self.0.push(Ailing { ill, since, why, until: None });
        true
    }

    /// Ends by itself at a moment, unless it is put off by more of the same.
    pub fn lasts_until(&mut self, ill: Ill, until: Moment) {
        if let Some(old) = self.0.iter_mut().find(|old| old.ill == ill) {
            old.until = Some(until);
        }
    }

    /// `true` if it was there.
    pub fn ends(&mut self, ill: Ill) -> bool {
        let before = self.0.len();
        self.0.retain(|old| old.ill != ill);
        self.0.len() != before
    }

    /// What is wrong at a moment.
    pub fn at(&self, now: Moment) -> impl Iterator<Item = &Ailing> {
        self.0.iter().filter(move |ailing| ailing.until.is_none_or(|until| now < until))
    }

    pub fn has(&self, ill: Ill, now: Moment) -> bool {
        self.at(now).any(|ailing| ailing.ill == ill)
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::moment::Span;

    #[test]
    fn an_illness_is_news_once_until_it_ends() {
        let minute = |n| Moment::default() + Span::minutes(n);
        let mut ills = Illnesses::default();
        assert!(ills.begins(Ill::Flat, minute(0), "38.5"));
        assert!(!ills.begins(Ill::Flat, minute(5), "38.5 still"));
        let since: Vec<_> =
            ills.at(minute(9)).map(|ailing| (ailing.since, ailing.why.as_str())).collect();
        assert_eq!(since, [(minute(0), "38.5 still")]);
        assert!(ills.ends(Ill::Flat) && !ills.ends(Ill::Flat));
        assert!(ills.begins(Ill::Restarts, minute(10), "three times"));
        ills.lasts_until(Ill::Restarts, minute(20));
        assert!(ills.has(Ill::Restarts, minute(19)) && !ills.has(Ill::Restarts, minute(20)));
        assert!(ills.begins(Ill::Restarts, minute(30), "three times"), "it is another time");
        assert!(ills.has(Ill::Restarts, minute(99)));
    }
}
