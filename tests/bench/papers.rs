//! All papers of one night for a season of 2,000 births, as text, HTML and PDF.
//! Run: `cargo bench --bench papers`.
#![allow(clippy::unwrap_used, reason = "a benchmark that cannot go on should stop")]

mod farm;

use divan::Bencher;
use lowbell::config::{Config, parse};
use lowbell::paper::sheet::Sheet;
use lowbell::paper::{book, debrief, dusk, handover, html, night, pdf, text, vet, wall};
use lowbell::plain::ids::LineName;
use lowbell::plain::moment::{Moment, Span};
use lowbell::talk::letter::{Reply, Sender};
use lowbell::watch::Watch;
use lowbell::watch::event::Event;
use lowbell::watch::season::Season;

const BIRTHS: usize = 2_000;

fn main() {
    divan::main();
}

/// 2,000 dams, of whom all but the last hundred have calved over sixty days, each on her day; the last are begun or
/// due. Nobody wears a sensor: two thousand that are never heard would be two thousand open alerts.
fn season() -> (Season, Config) {
    let mut settings = farm::settings(BIRTHS, "url = \"mqtt://127.0.0.1:1883\"");
    let bare = settings.files[0].text.find("[[device]]").unwrap();
    settings.files[0].text.truncate(bare);
    settings.files[1].text = String::from("animal,name,calvings,group,due,temper\n");
    let mut now = Moment::from_rfc3339("2026-09-25T12:00:00Z").unwrap();
    for dam in 0..BIRTHS {
        let (calvings, temper) = (dam % 5, 1 + dam % 6);
        let day = i64::try_from(dam * 60 / BIRTHS).unwrap();
        let due = jiff::civil::date(2026, 9, 25) + jiff::Span::new().days(day);
        settings.files[1]
            .text
            .push_str(&format!("{dam},Bramble {dam},{calvings},home field,{due},{temper}\n",));
    }
    let mut watch = Watch::default();
    let _ = watch.step(now, &Event::Started { seed: 7, last: None });
    let _ = watch.step(now, &Event::Settings(settings.clone()));
    let config = parse(&settings).config.unwrap();
    let every = Span::from_millis(60 * 86_400_000 / i64::try_from(BIRTHS * 7).unwrap());
    for dam in 0..BIRTHS {
        let marks: &[&str] = if dam < BIRTHS - 100 {
            &["bag", "feet", "nose", "calf", "up", "sucked", "placenta"]
        } else if dam < BIRTHS - 80 {
            &["bag", "feet"]
        } else {
            &["seen"]
        };
        for mark in marks {
            now += every;
            let reply = Reply {
                line: LineName::new("answers"),
                from: Sender::Name("Ana".to_owned()),
                text: format!("{dam} {mark}"),
                mail: None,
                asked: None,
            };
            let _ = watch.step(now, &Event::Answered(reply));
        }
    }
    (watch.season(now).unwrap(), config)
}

fn all(season: &Season, config: &Config) -> Vec<Sheet> {
    vec![
        dusk::sheet(season, config),
        night::sheet(season, config),
        vet::sheet(season, config, "7").unwrap(),
        handover::sheet(season, config),
        wall::sheet(config),
    ]
}

/// The whole season's births as a page, its figures, and its PDF.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn the_book_and_the_figures_of_a_season(bencher: Bencher<'_, '_>) {
    let (season, config) = season();
    let now = season.board.now;
    let rows = text::render(&book::book(&season, &config, now)).lines().count();
    assert!(rows > BIRTHS - 100, "a book of {rows} lines is not the season's");
    bencher.bench_local(|| {
        let book = pdf::render(&book::book(&season, &config, now));
        let figures = text::render(&debrief::debrief(&season, &config, now));
        divan::black_box(book.len() + figures.len())
    });
}

/// Everything a night needs in every form: five pages, three forms.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn all_papers_of_a_night(bencher: Bencher<'_, '_>) {
    let (season, config) = season();
    bencher.bench_local(|| {
        let mut bytes = 0;
        for sheet in all(&season, &config) {
            bytes +=
                text::render(&sheet).len() + html::render(&sheet).len() + pdf::render(&sheet).len();
        }
        divan::black_box(bytes)
    });
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn the_night_sheet_as_pdf(bencher: Bencher<'_, '_>) {
    let (season, config) = season();
    bencher.bench_local(|| divan::black_box(pdf::render(&night::sheet(&season, &config)).len()));
}
