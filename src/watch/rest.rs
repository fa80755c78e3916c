//! What goes and comes back is one matter: an alert of a rule that says so is over only when all has been well for
//! a while. Until then nobody new is called for it. What a person says ends it at once.

use super::Watch;
use super::ready::Ready;
use super::settle::earlier;
use crate::plain::ids::AlertNo;
use crate::plain::moment::{Moment, Span};
use crate::rules::verdict::Subject;

impl Watch {
    /// Notes that what an alert is about is well again; whether it is to be seen first if that lasts.
    pub(super) fn rests(&mut self, no: AlertNo, rest: Span) -> bool {
        let now = self.state.now;
        if rest == Span::ZERO || self.moment.by.is_some() {
            return false;
        }
        let Some(alert) = self.state.watchman.open.get_mut(&no) else { return false };
        let since = *alert.fine_since.get_or_insert(now);
        since + rest > now
    }

    /// When the first of those about a subject has been well for long enough.
    pub(super) fn rest_ends(&self, subject: &Subject, ready: &Ready) -> Option<Moment> {
        let open = self.state.watchman.open.values().filter(|alert| alert.subject == *subject);
        open.filter_map(|alert| {
            let rest = ready.rule(&alert.rule)?.rest;
            Some(alert.fine_since? + rest)
        })
        .filter(|ends| *ends > self.state.now)
        .fold(None, |first, ends| earlier(first, Some(ends)))
    }
}
