//! The papers: their words, the structure of their HTML, and their PDF as another program reads it.
//!
//! The season of `tests/papers` is told by the storyteller; the words of each page stand beside it. With
//! `LOWBELL_WRITE_PAPERS=1` they are written anew, to be read before they are kept.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use lowbell::config::{Config, NamedText, SettingsText, parse};
use lowbell::herd::sign::Mark;
use lowbell::herd::stage::Stage;
use lowbell::paper::sheet::{Block, Column, Sheet, Table};
use lowbell::paper::{dusk, handover, html, night, pdf, text, vet, wall};
use lowbell::plain::english;
use lowbell::plain::moment::Span;
use lowbell::talk::vet_card;
use lowbell::watch::season::Season;

use super::cli::{farm, whole};
use super::daemon::Daemon;
use super::storyteller::Teller;

/// An evening and half a night.
const STORY: &str = "
16:00  broker up
16:10  Rosa says 031 seen
16:20  packet yard/collar/k-310 {\"contractions\": 0, \"t\": <now>}
16:40  Rosa says 310 bagged up
17:10  packet yard/collar/k-207 {\"contractions\": 0, \"t\": <now>}
17:20  packet yard/collar/k-114 {\"contractions\": 0, \"t\": <now>}
17:25  Ana says 114 bag 1712
17:28  Ana says 114 feet 1726
until 17:30
";

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/papers")
}

fn settings() -> SettingsText {
    let file = |name: &str| NamedText {
        name: name.to_owned(),
        text: fs::read_to_string(folder().join(name)).unwrap(),
    };
    SettingsText { files: vec![file("farm.toml"), file("herd.csv")] }
}

fn told(story: &str) -> (Season, Config) {
    let teller = Teller::of(settings()).tell(story);
    let season = teller.watch.season(teller.now).unwrap();
    (season, parse(&settings()).config.unwrap())
}

fn sheets() -> Vec<(&'static str, Sheet)> {
    let (season, config) = told(STORY);
    vec![
        ("dusk", dusk::sheet(&season, &config)),
        ("night", night::sheet(&season, &config)),
        ("vet", vet::sheet(&season, &config, "Bramble").unwrap()),
        ("handover", handover::sheet(&season, &config)),
        ("wall", wall::sheet(&config)),
    ]
}

#[test]
fn every_paper_says_the_words_that_stand_beside_it() {
    #[allow(clippy::disallowed_methods, reason = "a switch for whoever writes papers")]
    let write = std::env::var("LOWBELL_WRITE_PAPERS").is_ok();
    let (season, config) = told(STORY);
    let facts = vet::facts(&season, &config, "114").unwrap();
    let mut pages: Vec<(&str, String)> =
        sheets().iter().map(|(name, sheet)| (*name, text::render(sheet))).collect();
    pages.push(("vet_sms", vet_card::text(&facts) + "\n"));
    pages.push(("handover_sms", handover::text(&season, &config) + "\n"));
    if write {
        // To be looked at.
        for (name, sheet) in sheets() {
            let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
            fs::write(path.with_extension("html"), html::render(&sheet)).unwrap();
            fs::write(path.with_extension("pdf"), pdf::render(&sheet)).unwrap();
        }
    }
    let mut wrong = String::new();
    for (name, is) in pages {
        let path = folder().join(format!("{name}.txt"));
        if write {
            fs::write(&path, &is).unwrap();
        }
        let kept = fs::read_to_string(&path).unwrap_or_default();
        if is != kept {
            wrong.push_str(&format!("{name} should be:\n{kept}\nis:\n{is}\n"));
        }
        assert!(is.lines().all(|line| line.chars().count() <= 80) || name.ends_with("sms"), "{is}");
    }
    assert!(wrong.is_empty(), "{wrong}");
}

/// Source: 3GPP TS 23.040 (standards.md SM-03): 152 characters a part of a joined message.
#[test]
fn the_short_forms_fit_their_messages_and_are_plain() {
    let (season, config) = told(STORY);
    let vet = vet_card::text(&vet::facts(&season, &config, "114").unwrap());
    let handover = handover::text(&season, &config);
    assert!(vet.is_ascii() && vet.len() <= 2 * 152, "{vet}");
    assert!(handover.is_ascii() && handover.len() <= 3 * 152, "{handover}");
    for must in ["114", "Backup", "207"] {
        assert!(handover.contains(must), "{must}: {handover}");
    }
}

#[test]
fn what_turns_on_people_stands_before_all_else() {
    for (name, sheet) in
        sheets().into_iter().filter(|(name, _)| matches!(*name, "dusk" | "night" | "handover"))
    {
        let Some(Block::Caution(lines)) = sheet.blocks.first() else {
            panic!("{name} does not begin with her");
        };
        assert!(
            lines.iter().any(|line| line.contains("207 Hazel") && line.contains("temper 5")),
            "{lines:?}"
        );
    }
}

#[test]
fn a_fresh_cow_that_turns_on_people_stays_in_the_box() {
    // needs.md N104: she has calved, her window is over, and she is at her worst.
    let (mut season, config) = told(STORY);
    let fresh = season.board.dams.iter_mut().find(|dam| dam.animal.as_str() == "207").unwrap();
    fresh.stage = Stage::Recovering;
    season.board.watched.retain(|row| row.animal.as_str() != "207");
    for sheet in [dusk::sheet(&season, &config), handover::sheet(&season, &config)] {
        let Some(Block::Caution(lines)) = sheet.blocks.first() else { panic!("no box: {sheet:?}") };
        assert!(lines.iter().any(|line| line.contains("207 Hazel")), "{lines:?}");
    }
    let text = handover::text(&season, &config);
    assert!(text.contains("Not alone with 207."), "{text}");
}

#[test]
fn the_wall_says_every_rule_that_calls_somebody_with_the_settings_own_figures() {
    use lowbell::config::rules::Condition;
    let (_, config) = told("until 12:01");
    let sheet = wall::sheet(&config);
    let rows: Vec<Vec<String>> = sheet
        .blocks
        .iter()
        .flat_map(|block| match block {
            Block::Table(table) => table.rows.iter().map(|row| row.cells.clone()).collect(),
            Block::Heading(_)
            | Block::Para(_)
            | Block::Lines(_)
            | Block::Caution(_)
            | Block::Rule
            | Block::Blank(_)
            | Block::PageBreak => Vec::new(),
        })
        .collect();
    let telling = config.rules.iter().filter(|rule| rule.tell.is_some());
    assert_eq!(rows.len(), telling.clone().count());
    let mut clocks = 0;
    for rule in telling {
        let row = rows.iter().find(|row| row[0] == rule.name.as_str()).unwrap();
        assert_eq!(row[4], rule.action.clone().unwrap_or_default());
        assert_eq!(row[5], rule.source);
        if let Condition::Clock { limit, .. } = &rule.condition {
            let said = |limit: Option<Span>| match limit {
                Some(Span::ZERO) => "at once".to_owned(),
                Some(limit) => english::span(limit),
                None => String::new(),
            };
            assert_eq!([&row[2], &row[3]], [&said(limit.cow), &said(limit.heifer)]);
            clocks += 1;
        }
    }
    assert!(clocks >= 6, "only {clocks} clocks on the wall");
    let second = rows.iter().find(|row| row[0] == "second stage too long").unwrap();
    assert_eq!((second[2].as_str(), second[3].as_str()), ("30 min", "1 h"));
}

#[test]
fn the_codes_of_the_sheet_typed_back_are_late_looks_of_the_right_dams() {
    let (season, config) = told(STORY);
    let sheet = night::sheet(&season, &config);
    let codes: Vec<(String, String)> = sheet
        .blocks
        .iter()
        .flat_map(|block| match block {
            Block::Table(table) if table.is_written_in() => table.rows.clone(),
            Block::Heading(_)
            | Block::Para(_)
            | Block::Lines(_)
            | Block::Table(_)
            | Block::Caution(_)
            | Block::Rule
            | Block::Blank(_)
            | Block::PageBreak => Vec::new(),
        })
        .filter(|row| !row.cell(0).is_empty())
        .map(|row| (row.cell(0).to_owned(), row.cell(1).split(' ').next().unwrap().to_owned()))
        .collect();
    assert!(codes.len() >= 4, "{codes:?}");
    let lines: Vec<String> =
        codes.iter().map(|(code, _)| format!("{code} 2310 S 0140 S")).collect();
    let story = format!("{STORY}\n07:00  Ana says {}\nuntil 07:01\n", lines.join("\\n"));
    let (season, config) = told(&story);
    for (_, animal) in codes {
        let record = season.dams.iter().find(|dam| dam.animal.as_str() == animal).unwrap();
        let looks: Vec<_> = record.case.of(Mark::Seen).filter(|look| look.by == "Ana").collect();
        let clocks: Vec<String> =
            looks.iter().map(|look| config.farm.zone.date_and_clock(look.at)).collect();
        assert_eq!(clocks, ["2026-11-24 23:10", "2026-11-25 01:40"], "{animal}");
        assert!(looks.iter().all(|look| look.timed && look.told > look.at));
    }
}

/// Source: the HTML standard (whatwg): every element that is opened is closed in order, save the void ones; a
/// table's head stands in `thead`.
#[test]
fn the_pages_are_whole_html_and_need_nothing_from_outside() {
    for (name, sheet) in sheets() {
        let page = html::render(&sheet);
        balanced(name, &page);
        for outside in
            ["<script", "http:", "https:", "src=", "href", "url(", "@import", "<button", "onclick"]
        {
            assert!(!page.contains(outside), "{name} has {outside}");
        }
        assert!(page.starts_with("<!DOCTYPE html>") && page.contains("<meta name=\"viewport\""));
        for style in
            ["@page{size:A4", "thead{display:table-header-group}", "tr{break-inside:avoid}"]
        {
            assert!(page.contains(style), "{name} lacks {style}");
        }
        let tables = page.matches("<table>").count();
        assert_eq!(tables, page.matches("<thead>").count(), "{name}");
        for table in page.split("<table>").skip(1) {
            let table = table.split("</table>").next().unwrap();
            let heads = table.matches("<th scope=\"col\"").count();
            for row in table.split("<tr").skip(2) {
                assert_eq!(row.matches("<td").count(), heads, "{name}: {row}");
            }
        }
    }
}

fn balanced(name: &str, page: &str) {
    const VOID: [&str; 4] = ["meta", "br", "hr", "col"];
    let mut open: Vec<String> = Vec::new();
    let mut seen = 0;
    for part in page.split('<').skip(1).filter(|part| !part.starts_with('!')) {
        let tag: String =
            part.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '/').collect();
        seen += 1;
        if let Some(closed) = tag.strip_prefix('/') {
            assert_eq!(open.pop().as_deref(), Some(closed), "{name}: </{closed}> closes nothing");
        } else if !VOID.contains(&tag.as_str()) {
            open.push(tag);
        }
    }
    assert!(open.is_empty() && seen > 20, "{name}: left open {open:?}");
}

/// What another program (poppler) reads in a PDF, page by page.
fn read_back(page: &[u8]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("page.pdf");
    fs::write(&path, page).unwrap();
    let info =
        Command::new("pdfinfo").arg(&path).output().expect("pdfinfo (poppler-utils) is needed");
    let info = String::from_utf8_lossy(&info.stdout).into_owned();
    assert!(info.contains("A4"), "{info}");
    let many: usize =
        info.lines().find_map(|line| line.strip_prefix("Pages:")).unwrap().trim().parse().unwrap();
    let pages = (1..=many).map(|n| {
        let n = n.to_string();
        let out = Command::new("pdftotext")
            .args(["-layout", "-f", &n, "-l", &n])
            .arg(&path)
            .arg("-")
            .output()
            .unwrap();
        assert!(out.stderr.is_empty(), "{}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap()
    });
    pages.collect()
}

/// needs.md N95: a book of 300 rows has its head on every page, no row is lost and none is cut.
#[test]
fn three_hundred_rows_have_their_head_on_every_page_and_none_is_cut() {
    let mut sheet = Sheet::new("Calving book", "Hollow Bank");
    let mut table = Table::new(vec![
        Column::left("damhead", 2),
        Column::left("noteshead", 5),
        Column::blank("pen", 2),
    ]);
    for n in 0..300 {
        let long = "words that need more than one line of the cell ".repeat(n % 4);
        table.row([format!("row{n:03}"), format!("begin{n:03} {long}end{n:03}")]);
    }
    sheet.table(table);
    let pages = read_back(&pdf::render(&sheet));
    assert!(pages.len() > 10, "{} pages", pages.len());
    for (n, page) in pages.iter().enumerate() {
        assert!(page.contains("damhead") && page.contains("noteshead"), "page {}", n + 1);
        assert!(page.contains(&format!("{} of {}", n + 1, pages.len())), "page {}", n + 1);
    }
    for n in 0..300 {
        let on = |mark: String| -> Vec<usize> {
            (0..pages.len()).filter(|at| pages[*at].contains(&mark)).collect()
        };
        let row = on(format!("row{n:03}"));
        assert_eq!(row.len(), 1, "row {n} stands once");
        assert_eq!((on(format!("begin{n:03}")), on(format!("end{n:03}"))), (row.clone(), row));
    }
}

#[test]
fn the_pdf_of_each_paper_has_the_words_of_its_text() {
    for (name, sheet) in sheets() {
        let pages = read_back(&pdf::render(&sheet));
        let read: String = pages.concat().split_whitespace().collect();
        let mut words = 0;
        for block in &sheet.blocks {
            let lines = match block {
                Block::Heading(line) | Block::Para(line) => vec![line.clone()],
                Block::Lines(lines) | Block::Caution(lines) => lines.clone(),
                Block::Table(_) | Block::Rule | Block::Blank(_) | Block::PageBreak => Vec::new(),
            };
            for line in lines {
                let line: String = line.split_whitespace().collect();
                assert!(read.contains(&line), "{name} lacks {line}");
                words += 1;
            }
        }
        assert!(words > 3, "{name} has {words} lines");
    }
}

#[test]
fn names_of_ireland_france_and_poland_come_back_from_the_pdf() {
    let names = [
        "Caoimhín Ó Súilleabháin",
        "Áine Ní Fhloinn",
        "Gaël Lefèvre, Œuvre, François, Noël",
        "Zażółć gęślą jaźń Łukasz ŚĆŻŹŃ",
    ];
    let mut sheet = Sheet::new("Names", "Hollow Bank");
    sheet.lines(names);
    let read = read_back(&pdf::render(&sheet)).concat();
    for name in names {
        assert!(read.contains(name), "{name}: {read}");
    }
}

#[test]
fn the_command_prints_from_a_running_watch_and_from_the_journal_of_one_that_stopped() {
    let folder = tempfile::tempdir().unwrap();
    let farm = farm(folder.path(), str::to_owned);
    let paper = |words: &[&str]| whole(&[&["paper"], words, &["--farm", &farm]].concat());
    let (code, out, err) = paper(&["dusk"]);
    assert_eq!((code, out.as_str()), (1, ""));
    assert!(err.contains("no watch answers"), "{err}");
    let (code, out, err) = paper(&["wall"]);
    assert_eq!((code, err.as_str()), (0, ""), "the wall needs no watch");
    assert!(out.starts_with("WALL CARD\n") && out.contains("placenta"), "{out}");

    let mut daemon = Daemon::start(Path::new(&farm));
    daemon.says("the watch begins");
    let (code, out, _) = whole(&["mark", "114", "feet", "--as", "Ana", "--farm", &farm]);
    assert_eq!(code, 0, "{out}");
    let (code, out, err) = paper(&["dusk"]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(out.contains("114 Bramble (heifer, home field): second stage"), "{out}");
    let path = folder.path().join("night.pdf");
    let shown = path.display().to_string();
    let (code, out, err) = paper(&["night", "--as", "pdf", "--out", &shown]);
    assert_eq!((code, out.as_str(), err.as_str()), (0, "", ""));
    let night = read_back(&fs::read(&path).unwrap()).concat();
    assert!(night.contains("BBB") && night.contains("114 Bramble"), "{night}");
    let (code, out, _) = paper(&["vet", "bramble", "--as", "sms"]);
    assert!(code == 0 && out.starts_with("114 Bramble, heifer") && out.len() <= 305, "{out}");
    for (words, why) in [
        (&["vet"][..], "which dam?"),
        (&["vet", "999"], "no dam is called 999"),
        (&["dusk", "114"], "only the vet's page"),
        (&["dusk", "--as", "sms"], "too long for a text message"),
    ] {
        let (code, out, err) = paper(words);
        assert_eq!((code, out.as_str()), (1, ""), "{words:?}");
        assert!(err.contains(why), "{words:?}: {err}");
    }
    assert_eq!(daemon.stop(), 0);

    let (code, out, err) = paper(&["handover", "--journal"]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(out.contains("114 Bramble: second stage"), "{out}");
}
