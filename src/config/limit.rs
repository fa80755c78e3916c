//! Reads how long is too long: for all alike, by parity, and shorter while it is cold.

use super::rules::Limit;
use super::tree::Table;
use crate::plain::moment::Span;

/// No clock of a calving runs longer.
pub(super) const LIMIT_MAX: Span = Span::days(30);

/// Cow, heifer and cold are each optional where one is given: of cow and heifer, the one left out takes
/// the other's, for nobody is to be forgotten by a key left out. With `cold` alone the clock is asked in the
/// cold only.
pub(super) fn read(table: &Table<'_>) -> Option<Limit> {
    // No length at all is: at once.
    let range = Span::ZERO..=LIMIT_MAX;
    let Some(value) = table.value("limit") else {
        let help = "how long is too long: \"12h\", or { cow = \"30m\", heifer = \"60m\" }";
        table.missing("limit", help);
        return None;
    };
    if !value.is_table() {
        return Some(Limit::both(value.span(range)?.is));
    }
    let inner = value.table("limit")?;
    let keys = ["cow", "heifer", "cold"];
    if !keys.iter().any(|key| inner.has(key)) {
        let help = "give cow, heifer or cold, such as { cow = \"30m\", heifer = \"60m\" }, or one text for all";
        inner.missing("length of time", help);
        inner.done();
        return None;
    }
    // A length that was refused leaves the whole limit unread; it has been said.
    let mut read = true;
    let [cow, heifer, cold] = keys.map(|key| {
        let value = inner.value(key)?;
        let span = value.span(range.clone()).map(|span| span.is);
        read &= span.is_some();
        span
    });
    inner.done();
    read.then(|| Limit { cow: cow.or(heifer), heifer: heifer.or(cow), cold })
}
