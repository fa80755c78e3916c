//! Yes, no or unknown: what a condition says, since when, and when to ask again.
//!
//! A sensor that says nothing does not say no: what is unknown neither raises anything nor calls it
//! off (the three values of Kleene's strong logic).

use super::verdict::Figures;
use crate::plain::moment::Moment;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    pub says: Says,
    /// When it may say otherwise though nothing more is heard.
    pub until: Option<Moment>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Says {
    /// It holds, since then, with these figures.
    Yes(Moment, Figures),
    /// It does not; since then, or for as long as is known.
    No(Option<Moment>),
    Unknown,
}

impl Answer {
    pub fn yes(since: Moment, figures: Figures, until: Option<Moment>) -> Self {
        Self { says: Says::Yes(since, figures), until }
    }

    pub fn no(since: Option<Moment>, until: Option<Moment>) -> Self {
        Self { says: Says::No(since), until }
    }

    pub fn unknown(until: Option<Moment>) -> Self {
        Self { says: Says::Unknown, until }
    }

    pub fn is_yes(&self) -> bool {
        matches!(self.says, Says::Yes(..))
    }

    /// Every one must hold: since the last of them began to.
    pub fn all(answers: Vec<Self>) -> Self {
        let until = soonest(answers.iter().map(|answer| answer.until));
        let (mut figures, mut since) = (Vec::new(), None);
        let (mut denied, mut unknown) = (None, false);
        for answer in answers {
            match answer.says {
                Says::Yes(at, what) => {
                    since = since.max(Some(at));
                    figures.push(what);
                }
                Says::No(at) => denied = denied.max(Some(at)),
                Says::Unknown => unknown = true,
            }
        }
        match (denied, unknown, since) {
            (Some(at), _, _) => Self::no(at, until),
            (None, false, Some(since)) => Self::yes(since, Figures::together(figures), until),
            (None, _, _) => Self::unknown(until),
        }
    }

    /// One that holds is enough: since the first of them began to.
    pub fn any(answers: Vec<Self>) -> Self {
        let until = soonest(answers.iter().map(|answer| answer.until));
        let (mut figures, mut since): (Vec<Figures>, Option<Moment>) = (Vec::new(), None);
        let (mut denied, mut unknown) = (None, answers.is_empty());
        for answer in answers {
            match answer.says {
                Says::Yes(at, what) => {
                    since = Some(since.map_or(at, |since| since.min(at)));
                    figures.push(what);
                }
                Says::No(at) => denied = denied.max(at),
                Says::Unknown => unknown = true,
            }
        }
        match (since, unknown) {
            (Some(since), _) => Self::yes(since, Figures::together(figures), until),
            (None, true) => Self::unknown(until),
            (None, false) => Self::no(denied, until),
        }
    }

    /// It is known that it does not hold; `what` says what is not so.
    pub fn not(self, what: &str, now: Moment) -> Self {
        let until = self.until;
        match self.says {
            Says::Yes(since, _) => Self::no(Some(since), until),
            Says::No(since) => {
                Self::yes(since.unwrap_or(now), Figures::NotSo { what: what.to_owned() }, until)
            }
            Says::Unknown => Self::unknown(until),
        }
    }
}

pub(super) fn soonest(moments: impl Iterator<Item = Option<Moment>>) -> Option<Moment> {
    moments.flatten().min()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn yes() -> Answer {
        Answer::yes(Moment::default(), Figures::NotSo { what: "x".into() }, None)
    }

    fn no() -> Answer {
        Answer::no(None, None)
    }

    fn unknown() -> Answer {
        Answer::unknown(None)
    }

    fn word(answer: &Answer) -> char {
        match answer.says {
            Says::Yes(..) => 'T',
            Says::No(_) => 'F',
            Says::Unknown => 'U',
        }
    }

    /// Source: Kleene, Introduction to Metamathematics (1952), section 64, the strong tables (from
    /// memory).
    #[test]
    fn the_tables_are_kleenes() {
        let values = [yes, no, unknown];
        let both = |join: fn(Vec<Answer>) -> Answer| {
            let pairs = values.iter().flat_map(|one| values.iter().map(move |two| (one, two)));
            pairs.map(|(one, two)| word(&join(vec![one(), two()]))).collect::<String>()
        };
        assert_eq!(both(Answer::all), "TFUFFFUFU");
        assert_eq!(both(Answer::any), "TTTTFUTUU");
        let not = values.map(|value| word(&value().not("x", Moment::default())));
        assert_eq!(not, ['F', 'T', 'U']);
    }
}
