//! Reads `due`: so many days to or past the window in which the herd file says that a dam may calve.

use super::condition::Reader;
use super::rules::{Condition, Due, DueWhen};
use crate::plain::moment::Span;

const WHENS: [(&str, DueWhen); 3] =
    [("past", DueWhen::Past), ("early", DueWhen::Early), ("lost", DueWhen::Lost)];

/// Further from a window than this nobody waits for anything.
const BY: std::ops::RangeInclusive<Span> = Span::ZERO..=Span::days(60);

impl Reader<'_> {
    pub(super) fn due(&self) -> Option<Condition> {
        let when = self.table.word("due", &WHENS);
        let by = self.table.value("by");
        let until = self.table.has("until").then(|| {
            self.words("until", "what ends it: a mark, a sign or a stage, such as \"vet\"")
        });
        let when = when?.is;
        if when == DueWhen::Lost {
            if let Some(by) = by {
                let help = "take by out: what is lost before term is lost, however early";
                by.refuse("by does not go with due = \"lost\"", help);
                return None;
            }
        } else if by.is_none() {
            let help = "how many days before or behind her window, such as \"5d\"";
            self.table.missing("by", help);
            return None;
        }
        let by = match by {
            Some(by) => by.span(BY)?.is,
            None => Span::ZERO,
        };
        let until = match until {
            Some(until) => until?,
            None => Vec::new(),
        };
        Some(Condition::Due(Due { when, by, until }))
    }
}
