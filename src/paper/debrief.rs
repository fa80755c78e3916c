//! The latest season in figures, when it is over: how the births lay, who was helped, what was lost, at what hours
//! (needs.md N114).
//!
//! Shares of others are printed as information. What nobody told is counted apart, and what the watch does
//! not keep is said to be unknown.

use jiff::civil::Date;

use super::figures::Ratio;
use super::hours::Hours;
use super::record::{Record, of_season, records};
use super::sheet::{Column, Sheet, Table};
use super::spread::{self, Calving, PERIODS, Spread, TARGETS};
use super::tally;
use crate::config::Config;
use crate::config::records::StartRule;
use crate::config::shipped::CATTLE;
use crate::config::species_terms::Terms;
use crate::plain::english;
use crate::plain::moment::Moment;
use crate::watch::season::Season;

pub fn debrief(season: &Season, config: &Config, now: Moment) -> Sheet {
    let all = records(season, config);
    let records = of_season(all.clone(), now);
    let zone = &config.farm.zone;
    let made = format!("{}, made {}", config.farm.name, zone.date_and_clock(now));
    let mut sheet = Sheet::new("The season", made);
    add_spread(&mut sheet, &records, config);
    add_assistance(&mut sheet, &records, config);
    add_losses(&mut sheet, &records, config);
    add_hours(&mut sheet, &records, config);
    // An interval needs the calving before as well.
    add_intervals(&mut sheet, season, config, &all);
    sheet.heading("Alerts");
    let open = season.board.alerts.len();
    sheet.para(format!(
        "{} open now. How many were right and how fast they were answered is not known: the watch keeps open \
         alerts only; `lowbell diary` has the others.",
        english::many(open, "alert is", "alerts are")
    ));
    sheet
}

/// Heifers are counted apart, and so is who may be either; that row is left out where it is empty.
const GROUPS: [(&str, Option<bool>); 3] =
    [("cow", Some(false)), ("heifer", Some(true)), ("cow or heifer", None)];

/// Whoever wants the whole list has the book; a page has room for these.
const LONGEST_MAX: usize = 10;

/// "cows", "maiden ewes"; what may be either is named as it is.
fn plural(terms: &Terms, who: &str) -> String {
    let word = terms.in_words(who);
    if who.contains(' ') { word } else { format!("{word}s") }
}

fn percent(ratio: Option<Ratio>) -> String {
    ratio.map_or_else(|| "-".to_owned(), Ratio::percent)
}

fn add_spread(sheet: &mut Sheet, records: &[Record], config: &Config) {
    sheet.heading("Births by periods of 21 days");
    let all = tally::calvings(records);
    let terms = &config.terms;
    let groups = GROUPS.map(|(who, first_calf)| {
        let of_them = all.iter().copied().filter(|one| one.first_calf == first_calf);
        (who, first_calf, of_them.collect::<Vec<Calving>>())
    });
    let bulls_in = config.records.bulls_in;
    let rules = [StartRule::ThirdCow, StartRule::AfterBulls(285), StartRule::AfterBulls(283)];
    let mut head = vec![Column::left("first day", 7), Column::left("dams", 3)];
    head.extend(PERIODS.map(|period| Column::right(period, 4)));
    head.push(Column::right(config.terms.many.as_str(), 2));
    let mut table = Table::new(head);
    for rule in rules {
        let Some(first) = spread::start(rule, bulls_in, &all) else { continue };
        let mark = if rule == config.records.start { " (this farm's rule)" } else { "" };
        for (who, first_calf, calvings) in &groups {
            if first_calf.is_none() && calvings.is_empty() {
                continue;
            }
            let spread = spread::spread(first, calvings);
            let rule = terms.in_words(&rule_words(rule));
            let mut cells = vec![format!("{first}, {rule}{mark}"), plural(terms, who)];
            cells.extend((0..PERIODS.len()).map(|n| share(&spread, n)));
            cells.push(spread.all().to_string());
            if mark.is_empty() { table.row(cells) } else { table.strong_row(cells) }
        }
    }
    if table.rows.is_empty() {
        let three = format!("Fewer than three mature {}", plural(terms, "cow"));
        sheet.para(format!(
            "{three} have {}, and no bulls-in is set: there is no first day yet.",
            terms.bore
        ));
        return;
    }
    sheet.table(table);
    sheet.para(
        "The first day is day 1. Those born dead count, and those before the first day are in the first \
         period; abortions do not count. The rules give different shares of one herd: compare like with like.",
    );
    if let Some(first) = spread::start(config.records.start, bulls_in, &all) {
        let spread = spread::spread(first, &all);
        let [by_21, by_42] = [0, 1].map(|period| percent(spread.share_by(period)));
        sheet.para(format!("This farm, all dams: {by_21} by day 21, {by_42} by day 42."));
    }
    // They are of cattle; of others none is known here.
    if config.farm.species != CATTLE {
        return;
    }
    sheet.lines(TARGETS.map(|target| format!("Others: {target}.")));
}

fn rule_words(rule: StartRule) -> String {
    match rule {
        StartRule::ThirdCow => "third mature cow".to_owned(),
        StartRule::AfterBulls(days) => format!("{days} days after the bulls"),
    }
}

fn share(spread: &Spread, period: usize) -> String {
    let count = spread.periods.get(period).copied().unwrap_or_default();
    format!("{count} ({})", percent(spread.share(period)))
}

fn add_assistance(sheet: &mut Sheet, records: &[Record], config: &Config) {
    sheet.heading("Births helped");
    let mut table = Table::new(vec![
        Column::left("dam", 3),
        Column::right("alone", 2),
        Column::right("helped", 2),
        Column::right("lay wrong", 2),
        Column::right("not scored", 2),
        Column::right("helped, of scored", 3),
        Column::right("others", 2),
    ]);
    for (group, counts) in tally::assistance(records, config.records.ease) {
        table.row([
            group.word().to_owned(),
            counts.alone.to_string(),
            counts.helped.to_string(),
            counts.lay_wrong.to_string(),
            counts.unscored.to_string(),
            percent(counts.rate()),
            if config.farm.species == CATTLE { group.found() } else { "" }.to_owned(),
        ]);
    }
    sheet.table(table);
    sheet.para(
        "Others: a research station's cattle, as information. What is not scored is in no share.",
    );
}

fn add_losses(sheet: &mut Sheet, records: &[Record], config: &Config) {
    sheet.heading(format!("Lost {}", config.terms.many));
    let border = config.farm.stillborn.within;
    let mut table = Table::new(vec![
        Column::left("", 2),
        Column::right("born", 2),
        Column::right("born dead", 2),
        Column::right("died in 24 h", 2),
        Column::right("died in 48 h", 2),
        Column::right("died in all", 2),
        Column::right("stillborn", 3),
        Column::right("aborted", 2),
    ]);
    for (who, first_calf) in GROUPS {
        let of_them = records.iter().filter(|record| record.first_calf == first_calf);
        let losses = tally::losses(of_them, border);
        if first_calf.is_none() && losses == tally::Losses::default() {
            continue;
        }
        table.row([
            plural(&config.terms, who),
            losses.born.to_string(),
            losses.born_dead.to_string(),
            losses.within_a_day.to_string(),
            losses.within_two_days.to_string(),
            losses.died.to_string(),
            format!("{} ({})", losses.stillborn, percent(losses.stillborn_share())),
            losses.aborted.to_string(),
        ]);
    }
    sheet.table(table);
    let counted = format!(
        "Stillborn: born dead, or died within {} of the birth, as this farm counts.",
        english::span(border)
    );
    // Of cattle; of others none is known here.
    let [herd, heifers] = tally::STILLBORN_TARGETS;
    sheet.para(if config.farm.species == CATTLE {
        format!("{counted} A usual aim is {herd} of the herd and {heifers} of the heifers.")
    } else {
        counted
    });
}

fn add_hours(sheet: &mut Sheet, records: &[Record], config: &Config) {
    sheet.heading("Births by the hour");
    let mut from: Option<Date> = None;
    let changes = &config.records.feeding;
    let mut table = Table::new(vec![
        Column::left("fed", 5),
        Column::right("06-10", 2),
        Column::right("10-14", 2),
        Column::right("14-18", 2),
        Column::right("18-22", 2),
        Column::right("22-02", 2),
        Column::right("02-06", 2),
        Column::right("by day", 3),
        Column::right("hour unknown", 3),
    ]);
    let mut fed = if changes.is_empty() { "as always".to_owned() } else { "before".to_owned() };
    for n in 0..=changes.len() {
        let until = changes.get(n).map(|change| change.at);
        let within = |record: &&Record| {
            record.calf == 1
                && from.is_none_or(|from| record.day >= from)
                && until.is_none_or(|until| record.day < until)
        };
        let mut hours = Hours::default();
        records.iter().filter(within).for_each(|record| hours.add(record.born, &config.farm.zone));
        let mut cells = vec![fed.clone()];
        cells.extend(
            [6, 10, 14, 18, 22, 2].map(|hour| percent(hours.between(hour, (hour + 4) % 24))),
        );
        cells.push(percent(hours.by_day()));
        cells.push(hours.uncertain.to_string());
        table.row(cells);
        if let Some(change) = changes.get(n) {
            (from, fed) = (Some(change.at), format!("{} from {}", change.to, change.at));
        }
    }
    sheet.table(table);
    sheet.para(
        "Only births whose hour is known to an hour are in the shares. A few births prove nothing about \
         feeding.",
    );
}

fn add_intervals(sheet: &mut Sheet, season: &Season, config: &Config, records: &[Record]) {
    let terms = &config.terms;
    sheet.heading(terms.in_words("From calving to calving"));
    let days = tally::days_of_calving(season, config, records);
    let (index, dams) = tally::index(&days);
    match index {
        Some(index) => sheet.para(format!(
            "{index} days on average, of the last interval of {}.{}",
            terms.in_words(&english::many(
                dams,
                "dam that calved before",
                "dams that calved before"
            )),
            // facts.md A-03 has it of cattle; of others none is known here.
            if config.farm.species == CATTLE { " A usual aim is 365 to 375 days." } else { "" }
        )),
        None => {
            let none = terms.in_words("No dam has calved twice here yet");
            sheet.para(format!("{none}: name last season's book as history."));
        }
    }
    let longest = tally::mean_intervals(&days);
    if longest.is_empty() {
        return;
    }
    let mut table = Table::new(vec![
        Column::left("dam", 3),
        Column::right("times known", 2),
        Column::right("days between, on average", 4),
    ]);
    for (animal, times, mean) in longest.iter().take(LONGEST_MAX) {
        table.row([animal.clone(), times.to_string(), mean.to_string()]);
    }
    sheet.table(table);
    let more = longest.len().saturating_sub(LONGEST_MAX);
    if more > 0 {
        sheet.para(format!("The longest {LONGEST_MAX}; {more} more have shorter ones."));
    }
}
