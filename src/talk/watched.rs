//! Who or what is watching each dam in her window at this moment, as a table: the unwatched first.

use serde::{Deserialize, Serialize};

use crate::herd::stage::Stage;
use crate::plain::english;
use crate::plain::ids::{Animal, DeviceId, PersonName};
use crate::plain::moment::Moment;
use crate::plain::zone::Zone;

/// One dam in her window.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Watched {
    pub animal: Animal,
    pub name: String,
    pub group: String,
    pub stage: Stage,
    /// The first and last day on which she may calve, where the herd file has a date: "2026-11-20".
    pub window: Option<(String, String)>,
    /// The last of these days is past.
    pub overdue: bool,
    /// Every device on her, alive or not.
    pub devices: Vec<OnHer>,
    /// When a person last looked at her, and until when that counts.
    pub look: Option<LastLook>,
    pub watched: bool,
    /// Since when nothing and nobody watches her, if that is so and known.
    pub unwatched_since: Option<Moment>,
    /// When somebody must look at her next; `None` while a device watches her.
    pub next_look: Option<Moment>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OnHer {
    pub device: DeviceId,
    pub kind: Option<String>,
    pub since: Option<Moment>,
    pub heard: Option<Moment>,
    pub alive: bool,
    /// A camera that gives pictures when asked and tells nothing by itself: it watches nobody.
    #[serde(default)]
    pub only_pictures: bool,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LastLook {
    pub by: PersonName,
    pub at: Moment,
    pub until: Option<Moment>,
}

/// The unwatched first, the longest alone before the others; then who must be looked at next.
pub fn sort(rows: &mut [Watched]) {
    rows.sort_by_key(|row| {
        (row.watched, row.unwatched_since, row.next_look.is_none(), row.next_look)
    });
}

/// The whole table.
pub fn page(rows: &[Watched], now: Moment, zone: &Zone) -> String {
    if rows.is_empty() {
        return "No dam is in her window.\n".to_owned();
    }
    let alone = rows.iter().filter(|row| !row.watched).count();
    let mut page = format!(
        "{} in the window at {}; {}.\n",
        english::many(rows.len(), "dam", "dams"),
        zone.date_and_clock(now),
        match alone {
            0 => "every one is watched".to_owned(),
            1 => "nothing and nobody watches 1 of them".to_owned(),
            more => format!("nothing and nobody watches {more} of them"),
        }
    );
    let mut table =
        vec![["", "dam", "stage", "window", "watched by", "next look"].map(str::to_owned)];
    table.extend(rows.iter().map(|row| {
        [
            if row.watched { " " } else { "!" }.to_owned(),
            [row.animal.as_str(), &row.name].join(" ").trim_end().to_owned(),
            row.stage.phrase().to_owned(),
            window(row),
            watchers(row, now, zone),
            next_look(row, now, zone),
        ]
    }));
    page.push_str(&columns(&table));
    page
}

/// Columns as wide as what stands in them, two spaces between.
pub fn columns<const N: usize>(table: &[[String; N]]) -> String {
    let wide = |n: usize| table.iter().map(|row| row[n].chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..N).map(wide).collect();
    let mut text = String::new();
    for row in table {
        let cells = row.iter().zip(&widths).map(|(cell, width)| format!("{cell:<width$}"));
        let line = cells.collect::<Vec<_>>().join("  ");
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

fn window(row: &Watched) -> String {
    match &row.window {
        Some((from, until)) if row.overdue => format!("{from} to {until}, over"),
        Some((from, until)) => format!("{from} to {until}"),
        None => "no date".to_owned(),
    }
}

fn watchers(row: &Watched, now: Moment, zone: &Zone) -> String {
    let mut words: Vec<String> = Vec::new();
    if !row.watched {
        let since = row.unwatched_since.map_or(String::new(), |since| {
            format!(" since {} ({})", zone.clock_by(since, now), english::span(now.since(since)))
        });
        words.push(format!("nobody{since}"));
    }
    for on in &row.devices {
        if on.only_pictures {
            words.push(format!("{} for pictures only", on.device));
            continue;
        }
        let kind = on.kind.as_ref().map_or(String::new(), |kind| format!(" ({kind})"));
        let since = on
            .since
            .map_or(String::new(), |since| format!(" on since {},", zone.clock_by(since, now)));
        let heard = match on.heard {
            Some(heard) => format!("heard {} ago", english::span(now.since(heard))),
            None => "never heard".to_owned(),
        };
        let dead = if on.alive { "" } else { "not by " };
        words.push(format!("{dead}{}{kind}{since} {heard}", on.device));
    }
    if let Some(look) = &row.look {
        let ago = english::span(now.since(look.at));
        words.push(format!("{} looked at {} ({ago} ago)", look.by, zone.clock_by(look.at, now)));
    }
    words.join("; ")
}

fn next_look(row: &Watched, now: Moment, zone: &Zone) -> String {
    match row.next_look {
        Some(at) if at <= now => "now".to_owned(),
        Some(at) => zone.clock_by(at, now),
        None => "-".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::moment::Span;

    fn minute(n: i64) -> Moment {
        Moment::default() + Span::minutes(n)
    }

    fn row(animal: &str, watched: bool, since: Option<i64>) -> Watched {
        Watched {
            animal: Animal::new(animal),
            name: "Bramble".into(),
            group: "home field".into(),
            stage: Stage::First,
            window: Some(("1969-12-20".into(), "1970-01-09".into())),
            overdue: false,
            devices: Vec::new(),
            look: None,
            watched,
            unwatched_since: since.map(minute),
            next_look: if watched { None } else { Some(minute(60)) },
        }
    }

    #[test]
    fn the_unwatched_stand_first_and_no_device_stands_without_its_age() {
        let device = OnHer {
            device: DeviceId::new("t-07"),
            kind: Some("tail".into()),
            since: None,
            heard: Some(minute(57)),
            alive: true,
            only_pictures: false,
        };
        let dead = OnHer {
            alive: false,
            heard: None,
            kind: None,
            since: Some(minute(5)),
            ..device.clone()
        };
        let mut rows = [
            Watched { devices: vec![device], ..row("207", true, None) },
            Watched { devices: vec![dead], ..row("114", false, Some(20)) },
        ];
        sort(&mut rows);
        assert_eq!(
            page(&rows, minute(60), &Zone::utc()),
            "2 dams in the window at 1970-01-01 01:00; nothing and nobody watches 1 of them.\n   \
             dam          stage        window                    watched by                                                            next look\n\
             !  114 Bramble  first stage  1969-12-20 to 1970-01-09  nobody since 00:20 (40 min); not by t-07 on since 00:05, never heard  now\n   \
             207 Bramble  first stage  1969-12-20 to 1970-01-09  t-07 (tail) heard 3 min ago                                           -\n"
        );
        assert_eq!(page(&[], minute(0), &Zone::utc()), "No dam is in her window.\n");
    }
}
