//! What the answer to a word about a calf says, whole: what is open of it, and what handbooks print.

use lowbell::config::{NamedText, SettingsText};
use lowbell::plain::ids::LineName;
use lowbell::plain::moment::{Moment, Span};
use lowbell::talk::letter::{Reply, Sender};
use lowbell::watch::Watch;
use lowbell::watch::effect::Effect;
use lowbell::watch::event::Event;

use super::storyteller::settings;

/// Hollow Bank with a herd file that says more: 207 was scanned with twins.
fn farm() -> SettingsText {
    let herd = "animal,name,calvings,group,scanned,purpose\n114,Bramble,0,home field,,dairy\n\
                207,Hazel,4,home field,2,beef\n031,Clover,2,river field,,\n";
    let mut files = settings("").files;
    for file in files.iter_mut().filter(|file| file.name == "herd.csv") {
        *file = NamedText { name: "herd.csv".into(), text: herd.into() };
    }
    SettingsText { files }
}

/// Somebody at the console, and the alerts raised meanwhile.
struct Console {
    watch: Watch,
    now: Moment,
    notes: Vec<String>,
}

impl Console {
    fn begin() -> Self {
        let now = Moment::from_rfc3339("2026-11-25T01:00:00Z").unwrap();
        let mut console = Self { watch: Watch::default(), now, notes: Vec::new() };
        console.happens(&Event::Started { seed: 7, last: None });
        console.happens(&Event::Settings(farm()));
        assert!(console.watch.ready().is_some(), "{:?}", console.notes);
        console
    }

    fn happens(&mut self, event: &Event) -> Option<String> {
        let mut answer = None;
        for effect in self.watch.step(self.now, event).effects {
            if let Effect::Said(said) = effect {
                answer = Some(said.text);
            } else {
                self.notes.push(effect.line());
            }
        }
        answer
    }

    fn says(&mut self, text: &str) -> String {
        let reply = Reply {
            line: LineName::new("console"),
            from: Sender::Name("Ana".into()),
            text: text.into(),
            mail: None,
            asked: Some(1),
        };
        self.happens(&Event::Answered(reply)).unwrap()
    }

    fn after(&mut self, minutes: i64) -> &mut Self {
        let until = self.now + Span::minutes(minutes);
        while let Some(next) = self.watch.next_deadline().filter(|next| next.at <= until) {
            self.now = self.now.max(next.at);
            let _ = self.happens(&Event::Woke);
        }
        self.now = until;
        self
    }

    fn raised(&self, rule: &str) -> usize {
        let head = |note: &&String| note.starts_with("alert ") && note.contains(": dam ");
        self.notes.iter().filter(head).filter(|note| note.ends_with(rule)).count()
    }
}

/// needs.md N110: breath, breast, up within the hour, suck within two; each is ticked by a reply.
#[test]
fn an_answer_lists_what_is_open_of_a_calf_and_by_when() {
    let mut console = Console::begin();
    assert_eq!(
        console.says("114 calf"),
        "Noted: 114 calf 01:00. Open: on its breast by 01:15; up by 02:00; suck by 03:00; navel by 05:00."
    );
    let said = console.after(12).says("114 calf up 0110");
    assert_eq!(said, "Noted: 114 up 01:10. Open: suck by 03:00; navel by 05:00.");
    let said = console.after(3).says("114 navel done");
    assert_eq!(said, "Noted: 114 navel 01:15. Open: suck by 03:00.");
    // Unticked sucking: the reminder after two hours, the alarm after six.
    console.after(60 * 6);
    for rule in ["calf not sucked", "calf still not sucked"] {
        assert_eq!(console.raised(rule), 1, "{rule}");
    }
    assert_eq!(console.raised("calf not up") + console.raised("calf not on its breast"), 0);
    let said = console.says("114 calf breathing");
    assert_eq!(said, "Noted: 114 breathing 07:15. Open: suck by 07:00, late.");
    assert_eq!(console.says("114 sucked"), "Noted: 114 sucked 07:15.");
}

/// A call about a calf lists what is open of it.
#[test]
fn a_call_lists_what_is_open_of_her_calves() {
    let mut console = Console::begin();
    let _ = console.says("114 calf");
    let flights = |console: &Console| {
        let mut texts: Vec<String> = Vec::new();
        for flight in console.watch.state().watchman.sent.in_flight() {
            if let lowbell::alarm::sent::Flight::Message(message) = flight {
                texts.push(message.text.clone());
            }
        }
        texts.join("\n")
    };
    console.after(61);
    let text = flights(&console);
    let open =
        "\nOpen: on its breast by 01:15, late; up by 02:00, late; suck by 03:00; navel by 05:00.\n";
    assert!(text.contains(open), "{text}");
}

/// Sources: facts.md I-10 (dairy extension: 10 % of its weight within 6 h), I-11 (beef extension: 5 to 6 %
/// in the first 4 h).
#[test]
fn a_weight_brings_the_volume_that_the_books_of_her_kind_print() {
    let mut console = Console::begin();
    let _ = console.says("114 calf, up, navel done");
    let said = console.says("114 weight 38");
    assert!(
        said.starts_with(
            "Noted: 114 weight 38 kg 01:00. First milk: 10 % of its weight is 3.8 l, within 6 h."
        ),
        "{said}"
    );
    let _ = console.says("207 calf, up, navel done");
    let said = console.says("207 weighed 80 lb");
    assert!(said.contains("First milk: 5 to 6 % is 1.8 to 2.2 l, within 4 h."), "{said}");
    let _ = console.says("031 calf, sucked");
    let said = console.says("031 weight 40 kg");
    assert_eq!(said.matches("First milk").count(), 0, "it has had some: {said}");
}

/// Sources: facts.md C-14 (warm it below 37.8 °C), C-15 (severe below 34.4, lifeless-looking below 30 °C),
/// C-17 (water of 38 °C, head held up).
#[test]
fn a_cold_calf_brings_the_ladder_of_the_handbooks_and_a_call() {
    let mut console = Console::begin();
    let _ = console.says("114 calf, up, sucked, navel done");
    assert_eq!(console.says("114 calf temp 38.9"), "Noted: 114 calf temp 38.9 01:00.");
    assert_eq!(console.raised("cold calf"), 0);
    let at_the_edge = console.after(1).says("114 calf temp 37.8");
    assert!(
        at_the_edge.contains("A little low") && console.raised("cold calf") == 0,
        "{at_the_edge}"
    );
    let mild = console.after(1).says("114 calf temp 37.7");
    assert!(
        mild.contains("Chilled (under 37.8 C)") && mild.contains("only if it can swallow"),
        "{mild}"
    );
    assert_eq!(console.notes.iter().filter(|note| note.contains("dam 114 cold calf")).count(), 1);
    let severe = console.after(1).says("114 calf temp 34.3");
    assert!(severe.contains("call the vet") && severe.contains("head up"), "{severe}");
    let lifeless = console.after(1).says("114 calf temp 29.9");
    assert!(lifeless.contains("may look dead and live"), "{lifeless}");
    console.notes.clear();
    let _ = console.after(30).says("114 calf temp 38.6");
    assert!(
        console.notes.iter().any(|note| note.ends_with("is over: calf temp at 01:34, said Ana"))
    );
}

#[test]
fn a_number_that_another_bears_is_refused_with_the_reason() {
    let mut console = Console::begin();
    let _ = console.says("114 calf, up, tagged IE 372123456780");
    let _ = console.says("031 calf, up");
    assert_eq!(
        console.says("031 tagged IE372123456780"),
        "Not taken: 031 tagged, because a calf of 114 has that number."
    );
    assert!(
        console.says("114 tagged IE 372 123 456780").starts_with("Noted: 114 tagged"),
        "its own again"
    );
    let twice = console.says("114 second calf, tag IE 372123456780");
    assert!(
        twice.contains("Not taken: 114 tagged of calf 2, because a calf of 114 has"),
        "{twice}"
    );
}

/// Source: facts.md X-08 (13 of 14 reared heifers born with a bull were barren, 1934).
#[test]
fn bull_and_heifer_twins_bring_the_freemartin_note() {
    let mut console = Console::begin();
    let said = console.says("207 bull calf, up, sucked, navel done");
    assert!(said.contains("A scan showed more than one: look for another."), "{said}");
    assert!(!said.contains("barren"));
    console.after(61);
    assert_eq!(console.raised("second calf not seen"), 1);
    let said = console.says("207 second calf heifer");
    assert!(said.contains("the heifer is likely barren (13 of 14 in a study of 1934)"), "{said}");
    assert!(
        console.notes.iter().any(|note| note.contains("is over: second calf")),
        "{:?}",
        console.notes
    );
}

#[test]
fn a_scan_of_two_is_asked_about_until_somebody_has_felt_that_there_is_one() {
    let mut console = Console::begin();
    let _ = console.says("207 calf, up, sucked, navel done");
    let _ = console.says("114 calf, up, sucked, navel done");
    console.after(59);
    assert_eq!(console.raised("second calf not seen"), 0);
    console.after(2);
    assert_eq!(console.raised("second calf not seen"), 1, "of 207, and not of 114");
    console.notes.clear();
    let _ = console.says("207 single");
    assert!(
        console.notes.iter().any(|note| note.contains("is over: calf at")),
        "{:?}",
        console.notes
    );
    console.after(60 * 5);
    assert_eq!(console.raised("second calf not seen"), 0);
}

#[test]
fn what_may_be_the_dam_ends_no_clock_of_the_birth() {
    let mut console = Console::begin();
    let _ = console.says("114 water bag");
    let said = console.says("114 breathing");
    assert!(said.starts_with("Not taken: 114 breathing, because no calf is noted yet"), "{said}");
    assert_eq!(
        console.says("114 calf sternal").split('.').next(),
        Some("Noted: 114 sternal 01:00")
    );
}
