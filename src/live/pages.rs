//! Puts a page into the mail that carries it, when it leaves: the watch says which page, the papers say what is on it.

use crate::alarm::message::{MessageKind, Page};
use crate::alarm::sent::Flight;
use crate::config::lines::Way;
use crate::paper::{dusk, handover, text};
use crate::plain::moment::Moment;
use crate::watch::Watch;

/// The flight with its page, where it has one and goes by mail.
pub(super) fn filled(flight: Flight, watch: &Watch, now: Moment) -> Flight {
    let Flight::Message(mut message) = flight else { return flight };
    let MessageKind::Page { page } = message.kind else { return Flight::Message(message) };
    let config = watch.ready().map(|ready| &ready.config);
    let line = config.and_then(|config| config.lines.iter().find(|one| one.name == message.line));
    let by_mail = line.is_some_and(|line| matches!(line.way, Way::Smtp(_)));
    if let (true, Some(config), Some(season)) = (by_mail, config, watch.season(now)) {
        let sheet = match page {
            Page::Dusk => dusk::sheet(&season, config),
            Page::Handover => handover::sheet(&season, config),
            Page::Heartbeat => return Flight::Message(message),
        };
        message.text = text::render(&sheet);
    }
    Flight::Message(message)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::alarm::message::Message;
    use crate::config::{NamedText, SettingsText};
    use crate::plain::ids::{LineName, MessageNo, PersonName};
    use crate::watch::event::Event;

    const FARM: &str = r#"
        [farm]
        name = "Hollow Bank"
        zone = "Europe/Dublin"
        herd = "herd.csv"
        [broker]
        url = "mqtt://127.0.0.1:1883"
        [[person]]
        name = "Ana"
        mail = "ana@hollowbank.example"
        [[line]]
        name = "mail"
        kind = "smtp"
        url = "smtp://127.0.0.1:25"
        from = "lowbell@hollowbank.example"
    "#;

    fn message(kind: MessageKind, line: &str, now: Moment) -> Flight {
        Flight::Message(Message {
            no: MessageNo(1),
            to: PersonName::new("Ana"),
            address: "ana@hollowbank.example".to_owned(),
            line: LineName::new(line),
            alert: None,
            also: Vec::new(),
            kind,
            subject: "Dusk page".to_owned(),
            text: "short".to_owned(),
            in_reply_to: None,
            id: "lowbell.0.1".to_owned(),
            made: now,
        })
    }

    #[test]
    fn a_page_stands_in_its_mail_and_in_nothing_else() {
        let now = Moment::from_rfc3339("2026-11-24T17:30:00Z").unwrap();
        let file = |name: &str, text: &str| NamedText { name: name.into(), text: text.into() };
        let files = vec![file("farm.toml", FARM), file("herd.csv", "animal,calvings\n114,0\n")];
        let mut watch = Watch::default();
        let _ = watch.step(now, &Event::Settings(SettingsText { files }));
        let text = |kind, line| match filled(message(kind, line, now), &watch, now) {
            Flight::Message(message) => message.text,
            Flight::Notice(_) => String::new(),
        };
        let dusk = text(MessageKind::Page { page: Page::Dusk }, "mail");
        assert!(dusk.starts_with("DUSK PAGE\nHollow Bank, Tuesday 2026-11-24 17:30"), "{dusk}");
        let handover = text(MessageKind::Page { page: Page::Handover }, "mail");
        assert!(handover.starts_with("HANDOVER\n"), "{handover}");
        assert_eq!(text(MessageKind::Page { page: Page::Heartbeat }, "mail"), "short");
        assert_eq!(text(MessageKind::Page { page: Page::Dusk }, "text"), "short");
        assert_eq!(text(MessageKind::Alert, "mail"), "short");
    }
}
