//! The night sheet: a row a dam with her code and blanks for looks. In the morning its lines are typed or texted
//! back as they stand, and count as looks of the hours that were written.

use super::dusk;
use super::herd_words::{self, OfHer};
use super::made;
use super::sheet::{Column, Row, Sheet, Table};
use crate::config::Config;
use crate::config::species_terms::Terms;
use crate::herd::stage::Stage;
use crate::plain::zone::Zone;
use crate::talk::night_sheet::{LOOKS, WRONG, WRONG_LEGEND};
use crate::watch::season::Season;

/// Looks that fit on a line: one every two hours of a winter's night.
const BLANKS: usize = 6;
/// Empty rows for whoever calves unforeseen.
const SPARE: usize = 2;

pub fn sheet(season: &Season, config: &Config) -> Sheet {
    let zone = &config.farm.zone;
    let dams = herd_words::all(season, config);
    let mut sheet = Sheet::new("Night sheet", made(season, config)).wide();
    let mut rows: Vec<&OfHer<'_>> = dams.iter().filter(|dam| dam.has_begun()).collect();
    rows.extend(dams.iter().filter(|dam| dam.watched.is_some() && !dam.has_begun()));
    rows.extend(
        dams.iter().filter(|dam| dam.view.stage == Stage::Recovering && dam.watched.is_none()),
    );
    dusk::temper(&mut sheet, rows.iter().copied());
    dusk::people(&mut sheet, season, config);
    sheet.heading("Looks: write the time and a letter, such as 0210 F");
    let mut columns = vec![
        Column::left("code", 5),
        Column::left("dam, where", 14),
        Column::left("look for", 14),
        Column::left("last look", 8),
        Column::left("next", 6),
    ];
    columns.extend((1..=BLANKS).map(|n| Column::blank(format!("look {n}"), 8)));
    let mut table = Table::new(columns);
    for dam in rows {
        let cells = cells(dam, season, zone).to_vec();
        table.rows.push(Row { cells, strong: dam.turns_on_people() });
    }
    (0..SPARE).for_each(|_| table.row([""; 0]));
    sheet.table(table);
    let first = dams.first().map_or("BBB", |dam| dam.view.code.as_str());
    legend(&mut sheet, first, &config.terms);
    sheet
}

fn cells(dam: &OfHer<'_>, season: &Season, zone: &Zone) -> [String; 5] {
    let now = season.board.now;
    let place =
        if dam.view.group.is_empty() { String::new() } else { format!(", {}", dam.view.group) };
    let look = dam.watched.and_then(|row| row.look.as_ref());
    let last =
        look.map_or(String::new(), |look| format!("{} {}", zone.clock_by(look.at, now), look.by));
    let next = match dam.watched.and_then(|row| row.next_look) {
        Some(at) if at <= now => "now".to_owned(),
        Some(at) => zone.clock_by(at, now),
        None => String::new(),
    };
    [dam.view.code.clone(), format!("{}{place}", dam.name()), look_for(dam), last, next]
}

/// What the next look is for. It is a reminder, no limit: the rules keep the clocks.
fn look_for(dam: &OfHer<'_>) -> String {
    let kind = if dam.is_heifer() { dam.terms.in_words("heifer; ") } else { String::new() };
    let what = match dam.view.stage {
        Stage::Carrying => "tail, restless, bag full",
        Stage::First => "water bag, straining",
        Stage::Second => "feet, nose: getting on?",
        Stage::Third => "calf up, sucked; placenta",
        Stage::Recovering => "eating, up, discharge",
        Stage::Closed => "",
    };
    let odd = dam.odd();
    let odd = if odd.is_empty() { String::new() } else { format!("; {}", odd.join(", ")) };
    format!("{kind}{}{odd}", dam.terms.in_words(what))
}

fn legend(sheet: &mut Sheet, code: &str, terms: &Terms) {
    sheet.heading("Letters");
    let letters =
        LOOKS.iter().map(|(letter, _, says)| format!("{letter} {}", terms.in_words(says)));
    let letters: Vec<String> = letters.chain([format!("{WRONG} {WRONG_LEGEND}")]).collect();
    sheet.para(letters.join("; ") + ".");
    sheet.para(format!(
        "What cannot wait is called in at once, not written. In the morning answer any mail, or text, with the \
         lines as they stand: code, time, letter; more looks behind each other: {code} 2310 S 0210 F. One row a \
         line, in any order. A time is taken as the last time the clock said it."
    ));
    sheet.caution([
        "Never alone if it can be helped; say where you are. Know your way out first.",
        "Pregnant women keep away from births and afterbirth. Gloves on, wash after.",
    ]);
}
