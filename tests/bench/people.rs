//! What a season asks of people: 60 days, 500 dams, sensors and lines that fail, five people who sleep and forget.
//! Prints each person's figures beside what the standards ask. Run: `cargo bench --bench people`, with other numbers
//! `cargo bench --bench people -- DAYS DAMS SEED`.
#![allow(clippy::unwrap_used, reason = "a benchmark that cannot go on should stop")]
#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]
#![allow(clippy::disallowed_methods, reason = "a benchmark measures time")]

use std::time::Instant;

use lowbell::paper::load::{Came, Load};
use lowbell::plain::moment::{Moment, Span};
use lowbell::plain::zone::Zone;
use lowbell::sim::{self, Size, Terms};

fn main() {
    let numbers: Vec<u32> = std::env::args().skip(1).filter_map(|word| word.parse().ok()).collect();
    let number = |at: usize, usual| numbers.get(at).copied().unwrap_or(usual);
    let (days, dams, seed) = (number(0, 60), number(1, 500), number(2, 1));
    let size = Size { dams, calvings: dams * 9 / 10 };
    let terms = Terms { size, measured: true, ..Terms::nights(days) };
    let start = Instant::now();
    let season = sim::season(u64::from(seed), &terms);
    let seconds = start.elapsed().as_secs_f64();
    let (load, zone) = (&season.load, Zone::named(sim::ZONE).unwrap());
    let (from, until) = (season.began, season.began + Span::days(i64::from(days)));
    println!(
        "people: {days} days, {dams} dams, {} births, {} events, seed {seed}, in {seconds:.0} s",
        season.tally.births, season.tally.events
    );
    print_people(load, &zone, from, until);
    print_alerts(load, from, until);
    print_rules(load, from, until);
}

fn print_people(load: &Load, zone: &Zone, from: Moment, until: Moment) {
    for who in sim::people() {
        let one = load.of(&who, zone, from, until);
        let per_window = |messages: usize, windows: usize| messages as f64 / windows.max(1) as f64;
        println!(
            "people: {who:<6} {:>5} texts; {:.3} in ten minutes on the mean, {:.2} in the worst hour of the day, \
             {:.1} in the worst hour of all; {} of {} windows over ten ({:.3} %), the most {}; {} in flood; \
             woken {} times in {} nights; the shortest night's longest sleep {} min",
            one.messages,
            per_window(one.messages, one.windows),
            per_window(one.worst_hour_of_day, one.days * 6),
            one.worst_hour as f64 / 6.0,
            one.over,
            one.windows,
            100.0 * one.over as f64 / one.windows.max(1) as f64,
            one.most,
            one.in_flood,
            one.wakings,
            one.nights,
            one.shortest_sleep.map_or(0, |span| span.whole_seconds() / 60),
        );
    }
}

fn print_alerts(load: &Load, from: Moment, until: Moment) {
    let (chatter, fleeting) = load.nuisances(from, until);
    let mix = load.mix(from, until);
    let all: usize = mix.iter().sum();
    let share = |many: usize| 100.0 * many as f64 / all.max(1) as f64;
    println!(
        "people: {all} alerts told; chattering {chatter}, fleeting {fleeting}, standing over a day {}",
        load.stale(from, until)
    );
    println!(
        "people: low {:.1} %, medium {:.1} %, high {:.1} %",
        share(mix[0]),
        share(mix[1]),
        share(mix[2])
    );
    let off = load.told.iter().filter(|told| told.off_duty).count();
    println!("people: texts to somebody off duty, before a ladder's last rung: {off}");
    let raised: Vec<_> = load.raised_in(from, until).collect();
    let came = |what| raised.iter().filter(|one| one.came == Some(what)).count();
    println!(
        "people: {} raised; seen to {}, false {}, passed by themselves {}",
        raised.len(),
        came(Came::True),
        came(Came::False),
        came(Came::Passed)
    );
}

fn print_rules(load: &Load, from: Moment, until: Moment) {
    let mut by_rule: std::collections::BTreeMap<String, usize> = std::collections::BTreeMap::new();
    for one in load.raised_in(from, until) {
        *by_rule.entry(format!("{} ({})", one.rule, one.priority.word())).or_default() += 1;
    }
    let mut by_rule: Vec<_> = by_rule.into_iter().collect();
    by_rule.sort_by_key(|(_, many)| std::cmp::Reverse(*many));
    for (rule, many) in by_rule.iter().take(12) {
        println!("people: {many:>5} {rule}");
    }
}
