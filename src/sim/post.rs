//! What becomes of a message once the watch has let it go: it leaves, arrives, fails, is swallowed, or
//! comes back.

use super::dice::Dice;
use super::faults::{Fate, Faults, How};
use super::yard::{ANSWERS, PEOPLE};
use crate::alarm::message::{Delivery, Message, Outcome};
use crate::plain::ids::{LineName, MessageNo};
use crate::plain::moment::{Moment, Span};
use crate::talk::letter::{MailProof, Reply, Report, Sender};
use crate::watch::event::Event;

/// When a person has a message, when the watch hears of it, and what comes back.
pub(super) struct Journey {
    pub(super) arrives: Option<Moment>,
    pub(super) lands: Option<(Moment, Delivery)>,
    pub(super) report: Option<(Moment, Event)>,
    pub(super) failed: bool,
}

/// A message leaves this machine now.
pub(super) fn journey(now: Moment, message: &Message, faults: &Faults, dice: &mut Dice) -> Journey {
    let person = PEOPLE.iter().position(|person| person.0 == message.to.as_str());
    let fate = faults.fate(message.line.as_str(), person, now);
    let soon = now + dice.span(Span::seconds(1), Span::seconds(30));
    let late = now + dice.minutes(20, 60);
    let taken = |at| Some((at, delivery(message.no, Outcome::Taken)));
    let mut journey =
        Journey { arrives: Some(soon), lands: taken(soon), report: None, failed: false };
    match fate {
        Fate::Good => {}
        Fate::Bad(How::Fails) => {
            journey.arrives = None;
            let why = "451 try again later".to_owned();
            let at = now + dice.span(Span::seconds(1), Span::minutes(3));
            journey.lands = Some((at, delivery(message.no, Outcome::Failed { why })));
            journey.failed = true;
        }
        Fate::Bad(How::Swallows) => journey.arrives = None,
        Fate::Bad(How::Slow) => {
            journey.arrives = Some(late);
            journey.lands = taken(late);
        }
        Fate::Bad(How::Mute) => journey.lands = None,
        Fate::SentBack => {
            journey.arrives = None;
            journey.report = Some((soon + dice.minutes(1, 4), sent_back(message, dice)));
            journey.failed = true;
        }
    }
    journey
}

pub(super) fn delivery(no: MessageNo, outcome: Outcome) -> Delivery {
    Delivery { no, outcome }
}

/// The mail server's report that a mail could not be brought (RFC 3464).
fn sent_back(message: &Message, dice: &mut Dice) -> Event {
    let report = Report {
        action: "failed".to_owned(),
        recipient: message.address.clone(),
        about: Some(format!("{}@hollowbank.example", message.id)),
        status: "5.2.2".to_owned(),
    };
    let proof = MailProof {
        message_id: Some(format!("{:016x}@mail.hollowbank.example", dice.roll())),
        subject: "Undelivered".to_owned(),
        return_path: Some("<>".to_owned()),
        auto_submitted: vec!["auto-replied".to_owned()],
        content_type: "multipart/report; report-type=delivery-status".to_owned(),
        report: Some(report),
        ..MailProof::default()
    };
    Event::Answered(Reply {
        line: LineName::new(ANSWERS),
        from: Sender::Mail("mailer-daemon@mail.hollowbank.example".to_owned()),
        text: "The mailbox is full.".to_owned(),
        mail: Some(Box::new(proof)),
        asked: None,
    })
}

/// A mail from nobody of the farm that says the right word.
pub(super) fn stranger(dice: &mut Dice) -> Event {
    let proof = MailProof {
        message_id: Some(format!("{:016x}@elsewhere.example", dice.roll())),
        content_type: "text/plain".to_owned(),
        ..MailProof::default()
    };
    Event::Answered(Reply {
        line: LineName::new(ANSWERS),
        from: Sender::Mail("feed@merchant.example".to_owned()),
        text: "going".to_owned(),
        mail: Some(Box::new(proof)),
        asked: None,
    })
}
