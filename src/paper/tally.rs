//! What a season comes to: births helped, calves lost, intervals. Counts first, shares from them.
//!
//! What nobody scored or said is counted by itself and is in no share.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::ease;
use super::figures::{Ratio, age_in_days, herd_index, mean_interval};
use super::record::{Outcome, Record};
use super::spread::Calving;
use crate::config::Config;
use crate::config::records::Scale;
use crate::plain::moment::Span;
use crate::watch::season::Season;

/// How many births were helped.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Assistance {
    pub alone: u64,
    pub helped: u64,
    /// The score says that the calf lay wrong, not whether somebody helped.
    pub lay_wrong: u64,
    pub unscored: u64,
}

impl Assistance {
    pub fn add(&mut self, scale: Scale, score: Option<u8>, times: u64) {
        let count = match score.map(|score| ease::was_helped(scale, score)) {
            None => &mut self.unscored,
            Some(None) => &mut self.lay_wrong,
            Some(Some(true)) => &mut self.helped,
            Some(Some(false)) => &mut self.alone,
        };
        *count += times;
    }

    /// Helped of those that were scored. A calf that lay wrong was helped or it died: it counts as helped.
    pub fn rate(&self) -> Option<Ratio> {
        let helped = self.helped + self.lay_wrong;
        Ratio::of(helped, helped + self.alone)
    }
}

/// Ages of the dam as a station's table has them (facts.md S2-29).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum AgeGroup {
    Two,
    Three,
    Four,
    Older,
    Unknown,
}

impl AgeGroup {
    pub const fn of(years: Option<u16>) -> Self {
        match years {
            None => Self::Unknown,
            Some(0..=2) => Self::Two,
            Some(3) => Self::Three,
            Some(4) => Self::Four,
            Some(5..) => Self::Older,
        }
    }

    pub const fn word(self) -> &'static str {
        match self {
            Self::Two => "2 years",
            Self::Three => "3 years",
            Self::Four => "4 years",
            Self::Older => "5 years and older",
            Self::Unknown => "age not known",
        }
    }

    /// What the station found, as information.
    pub const fn found(self) -> &'static str {
        match self {
            Self::Two => "54 %",
            Self::Three => "16 %",
            Self::Four => "7 %",
            Self::Older => "5 %",
            Self::Unknown => "",
        }
    }
}

/// Calves by what became of them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Losses {
    /// All of full term, dead ones too.
    pub born: u32,
    pub born_dead: u32,
    pub within_a_day: u32,
    pub within_two_days: u32,
    pub died: u32,
    /// By the farm's own border (facts.md E-07, E-08, X-25).
    pub stillborn: u32,
    pub aborted: u32,
}

impl Losses {
    pub fn add(&mut self, record: &Record, border: Span) {
        if record.outcome == Outcome::Aborted {
            self.aborted += 1;
            return;
        }
        self.born += 1;
        self.stillborn += u32::from(record.is_stillborn(border));
        match record.outcome {
            Outcome::BornDead => self.born_dead += 1,
            Outcome::Died(at) => {
                let age = at.since(record.born.moment());
                self.died += 1;
                self.within_a_day += u32::from(age <= Span::hours(24));
                self.within_two_days += u32::from(age <= Span::hours(48));
            }
            Outcome::Alive | Outcome::Aborted => {}
        }
    }

    pub fn stillborn_share(&self) -> Option<Ratio> {
        Ratio::of(self.stillborn, self.born)
    }
}

/// Less of the calves than this is a usual aim (facts.md X-07), of the herd and of its heifers.
pub const STILLBORN_TARGETS: [&str; 2] = ["under 8 %", "under 10 %"];

/// Births helped by the age of the dam; a birth counts once, whatever its calves.
pub fn assistance(records: &[Record], scale: Scale) -> BTreeMap<AgeGroup, Assistance> {
    let mut groups = BTreeMap::<AgeGroup, Assistance>::new();
    for record in records.iter().filter(|record| record.calf == 1) {
        let group = groups.entry(AgeGroup::of(record.dam_years)).or_default();
        group.add(scale, record.ease, 1);
    }
    groups
}

pub fn losses<'r>(records: impl IntoIterator<Item = &'r Record>, border: Span) -> Losses {
    let mut losses = Losses::default();
    records.into_iter().for_each(|record| losses.add(record, border));
    losses
}

/// The calvings behind the records, abortions left out: they are no calving (facts.md E-09).
pub fn calvings(records: &[Record]) -> Vec<Calving> {
    let first = records.iter().filter(|record| record.calf == 1);
    let each = first.map(|record| Calving {
        day: record.day,
        calves: u32::from(record.of),
        first_calf: record.first_calf,
        years: record.dam_years,
    });
    each.collect()
}

/// The days on which each dam has calved, the earliest first: of this season and of last season's book.
pub fn days_of_calving(
    season: &Season,
    config: &Config,
    records: &[Record],
) -> BTreeMap<String, Vec<Date>> {
    let mut days = BTreeMap::<String, Vec<Date>>::new();
    let known = |animal: &str| season.dams.iter().any(|dam| dam.animal.as_str() == animal);
    for row in config.history.iter().filter(|row| known(row.animal.as_str())) {
        days.entry(row.animal.to_string()).or_default().push(row.calved);
    }
    for record in records.iter().filter(|record| record.calf == 1) {
        days.entry(record.animal.clone()).or_default().push(record.day);
    }
    for days in days.values_mut() {
        days.sort_unstable();
        days.dedup_by(|later, earlier| age_in_days(*earlier, *later) < SAME_CALVING);
    }
    days
}

/// The same calving may stand in last season's book and in the journal, a day apart for an uncertain hour:
/// nobody calves twice within this (facts.md G-26: 262 days at the least).
const SAME_CALVING: i32 = 100;

/// The herd's index from every dam's last interval (facts.md A-03), and how many dams have one.
pub fn index(days: &BTreeMap<String, Vec<Date>>) -> (Option<Ratio>, usize) {
    let last = |days: &Vec<Date>| super::figures::intervals(days).last().copied();
    let intervals: Vec<i32> = days.values().filter_map(last).collect();
    (herd_index(&intervals), intervals.len())
}

/// Each dam's mean interval over all her calvings that are known, and how many those are; the longest first.
pub fn mean_intervals(days: &BTreeMap<String, Vec<Date>>) -> Vec<(String, usize, Ratio)> {
    let each = days.iter().filter(|(_, days)| days.len() > 1);
    let mut means: Vec<(String, usize, Ratio)> = each
        .filter_map(|(animal, days)| Some((animal.clone(), days.len(), mean_interval(days)?)))
        .collect();
    // By fractions: a / b against c / d.
    means.sort_by(|(_, _, one), (_, _, other)| {
        (other.top * one.bottom).cmp(&(one.top * other.bottom))
    });
    means
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rate_of_a_large_breed_register_comes_out_as_published() {
        // 363,759 scores of US Simmental (Foulley and Gianola 1996, Genet Sel Evol 28, 249-273, table as
        // published with an open package): 332,656 alone, 22,143 and 8,960 helped: 91.45 % alone.
        let mut all = Assistance::default();
        for (score, times) in [(1, 332_656), (2, 22_143), (3, 8_960)] {
            all.add(Scale::Dairy, Some(score), times);
        }
        assert_eq!(all.rate().unwrap().percent(), "8.6 %", "8.55 % before rounding: 91.45 % alone");
        assert_eq!(all.alone + all.helped, 363_759);
    }

    #[test]
    fn a_birth_that_nobody_scored_is_in_no_share() {
        // needs.md N107: never silently 1.
        let mut all = Assistance::default();
        all.add(Scale::Five, None, 10);
        assert_eq!(all.rate(), None);
        all.add(Scale::Five, Some(1), 3);
        all.add(Scale::Five, Some(5), 1);
        assert_eq!(all.rate().unwrap().percent(), "25 %");
        assert_eq!((all.unscored, all.lay_wrong), (10, 1));
    }
}
