//! Who is due, as a table: those who have begun, the overdue, those in their windows, then those to come.
//!
//! Within the overdue and those in their windows, whoever has most against her stands first, then the
//! earlier day; of those to come the one whose window opens first. What each mark weighs is in
//! `watch/due.rs`, where they are gathered.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::phrases;
use super::reason;
use super::watched::columns;
use crate::herd::stage::Stage;
use crate::herd::window::{Phase, between};
use crate::plain::english;
use crate::plain::ids::Animal;

/// One dam who has a date and has not calved.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DueView {
    pub animal: Animal,
    pub name: String,
    pub group: String,
    pub stage: Stage,
    /// Which day of her carrying today is, day 0 the day of service: a range where that is one.
    pub day: Option<(i64, i64)>,
    pub expected: Date,
    /// Days from today until then; negative once it is past.
    pub left: i64,
    /// Four births in five, and nineteen in twenty.
    pub likely_from: Date,
    pub likely_until: Date,
    pub from: Date,
    pub until: Date,
    /// The last day on which anybody looks for her.
    pub given_up: Date,
    /// The days that are all as likely, where nobody knows the day of service.
    pub flat: Option<(Date, Date)>,
    pub phase: Phase,
    /// What stands out about her, the weightiest first.
    pub risks: Vec<String>,
    pub weight: u32,
    /// "AI 2026-02-14 + 281.7, Angus heifer".
    pub source: String,
    /// The figure is from the farm's own past seasons.
    pub yours: bool,
}

impl DueView {
    /// The same as of another day; what was noted of her stays as it is.
    pub fn on(mut self, today: Date, day: Date) -> Self {
        let later = between(today, day);
        self.left -= later;
        self.day = self.day.map(|(low, high)| (low + later, high + later));
        self.phase = if day < self.from {
            Phase::Before
        } else if day <= self.until {
            Phase::In
        } else if day <= self.given_up {
            Phase::Overdue
        } else {
            Phase::GivenUp
        };
        self
    }

    fn has_begun(&self) -> bool {
        matches!(self.stage, Stage::First | Stage::Second)
    }

    /// How many days she is past her window.
    fn past(&self) -> i64 {
        -(self.left + between(self.expected, self.until))
    }
}

/// The order of the list.
pub fn sort(rows: &mut [DueView]) {
    rows.sort_by_key(|row| {
        let least = u32::MAX - row.weight;
        let (by_weight, by_day) = match row.phase {
            Phase::Before | Phase::GivenUp => (0, row.from),
            Phase::Overdue | Phase::In => (least, row.expected),
        };
        (!row.has_begun(), row.phase, by_weight, by_day, least)
    });
}

/// The whole table, and how many carry without a date.
pub fn page(rows: &[DueView], undated: usize, today: Date) -> String {
    let count = |phase| rows.iter().filter(|row| row.phase == phase).count();
    let mut said =
        vec![format!("{} in the window", english::many(count(Phase::In), "dam", "dams"))];
    for (n, what) in [
        (count(Phase::Overdue), "overdue"),
        (count(Phase::Before), "to come"),
        (count(Phase::GivenUp), "so long past that the date must be wrong"),
        (undated, "without a date"),
    ] {
        if n > 0 {
            said.push(format!("{n} {what}"));
        }
    }
    let mut page = format!("Due on {today}: {}.\n", english::list(&said));
    if rows.is_empty() {
        return page;
    }
    let head = ["", "dam", "where", "day", "expected", "window", "stands out", "by"];
    let mut table = vec![head.map(str::to_owned)];
    table.extend(rows.iter().map(|row| {
        let mark = match row.phase {
            Phase::Overdue => "!",
            Phase::GivenUp => "?",
            Phase::In | Phase::Before => " ",
        };
        [
            mark.to_owned(),
            [row.animal.as_str(), &row.name].join(" ").trim_end().to_owned(),
            row.group.clone(),
            row.day.map_or(String::new(), |day| reason::day(day, phrases::english())),
            row.expected.to_string(),
            format!("{} to {}", row.from, row.until),
            stands_out(row),
            row.source.clone(),
        ]
    }));
    page.push_str(&columns(&table));
    page.push_str(
        "Nineteen births in twenty fall within the window. Day 0 is the day of service.\n",
    );
    page
}

fn stands_out(row: &DueView) -> String {
    let mut words = Vec::new();
    if row.has_begun() {
        words.push(row.stage.phrase().to_owned());
    }
    if row.phase == Phase::Overdue {
        let past = usize::try_from(row.past()).unwrap_or(0);
        words.push(format!("overdue by {}", english::many(past, "day", "days")));
    }
    if row.phase == Phase::GivenUp {
        words.push("is the date right?".to_owned());
    }
    words.extend(row.risks.iter().cloned());
    words.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn row(animal: &str, from: Date, until: Date, weight: u32) -> DueView {
        let expected = from.checked_add(jiff::Span::new().days(11)).unwrap();
        let today = date(2026, 11, 24);
        DueView {
            animal: Animal::new(animal),
            name: String::new(),
            group: "home field".into(),
            stage: Stage::Carrying,
            day: Some((283, 283)),
            expected,
            left: between(today, expected),
            likely_from: from,
            likely_until: until,
            from,
            until,
            given_up: until.checked_add(jiff::Span::new().days(21)).unwrap(),
            flat: None,
            phase: Phase::Before,
            risks: Vec::new(),
            weight,
            source: "AI".into(),
            yours: false,
        }
        .on(today, today)
    }

    #[test]
    fn the_list_is_by_window_and_within_a_window_by_what_stands_out() {
        let of = |animal, first: i8, last: i8, weight| {
            row(animal, date(2026, 11, first), date(2026, 11, last), weight)
        };
        let mut begun = row("5", date(2026, 12, 5), date(2026, 12, 27), 0);
        begun.stage = Stage::First;
        let mut rows = [
            of("1", 26, 30, 9),
            of("2", 25, 30, 0),
            of("3", 20, 30, 0),
            of("4", 21, 30, 3),
            begun,
            of("6", 1, 22, 0),
            row("7", date(2026, 9, 1), date(2026, 9, 23), 5),
        ];
        sort(&mut rows);
        let order: Vec<&str> = rows.iter().map(|row| row.animal.as_str()).collect();
        assert_eq!(order, ["5", "6", "4", "3", "2", "1", "7"]);
    }

    #[test]
    fn another_day_moves_what_hangs_on_today_and_nothing_else() {
        let today = date(2026, 11, 24);
        let one = row("114", date(2026, 11, 12), date(2026, 12, 4), 2);
        let later = one.clone().on(today, date(2026, 12, 6));
        assert_eq!((one.phase, later.phase), (Phase::In, Phase::Overdue));
        assert_eq!((later.day, later.left), (Some((295, 295)), -13));
        assert_eq!(stands_out(&later), "overdue by 2 days");
        assert_eq!((later.from, later.expected, later.weight), (one.from, one.expected, 2));
    }
}
