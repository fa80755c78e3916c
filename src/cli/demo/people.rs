//! The invented people: they read the mails they really get and answer those.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use mail_parser::MessageParser;
use tokio::sync::mpsc;

use super::Stage;
use super::post::Mail;
use super::script::{Hearing, Script, What};
use super::tally::Tally;
use crate::line::{Arrival, letter};
use crate::plain::ids::LineName;
use crate::plain::moment::Moment;
use crate::talk::letter::MailPlace;
use crate::watch::event::Event;

/// How much of a mail the demo shows.
const SHOWN_LINES: usize = 7;

/// A mail that somebody got.
#[derive(Clone, Default)]
struct Got {
    id: String,
    subject: String,
    body: String,
}

struct Village {
    stage: Stage,
    /// What each person still waits to hear.
    hearings: Vec<Hearing>,
    last: BTreeMap<String, Got>,
    uid: u32,
    tally: Rc<RefCell<Tally>>,
}

pub(super) async fn live(
    stage: Stage,
    script: Script,
    mut post: mpsc::Receiver<Mail>,
    tally: Rc<RefCell<Tally>>,
) {
    let village = Rc::new(RefCell::new(Village {
        stage: stage.clone(),
        hearings: script.hearings.clone(),
        last: BTreeMap::new(),
        uid: 0,
        tally,
    }));
    for deed in script.deeds {
        if let What::Mails(words) = deed.what {
            let (village, stage) = (village.clone(), stage.clone());
            tokio::task::spawn_local(async move {
                stage.until(deed.at).await;
                let got = village.borrow().last.get(&deed.who).cloned().unwrap_or_default();
                reply(&village, &deed.who, &words, &got).await;
            });
        }
    }
    while let Some(mail) = post.recv().await {
        let Some((who, got)) = read(&mail) else {
            continue;
        };
        let now = stage.now();
        show(&stage, &who, &got, now);
        let answers = {
            let mut village = village.borrow_mut();
            village.tally.borrow_mut().mail(&who, &got.subject, &stage.zone, now);
            village.last.insert(who.clone(), got.clone());
            village.answers_to(&who, &got.subject)
        };
        if let Some(hearing) = answers {
            let (village, stage) = (village.clone(), stage.clone());
            tokio::task::spawn_local(async move {
                stage.until(now + hearing.after).await;
                reply(&village, &hearing.who, &hearing.words, &got).await;
            });
        }
    }
}

impl Village {
    fn answers_to(&mut self, who: &str, subject: &str) -> Option<Hearing> {
        let fits = |hearing: &Hearing| hearing.who == who && subject.contains(&hearing.rule);
        let at = self.hearings.iter().position(fits)?;
        Some(self.hearings.remove(at))
    }
}

/// Writes a reply as a mail program does, and hands its bytes over as the mailbox would.
async fn reply(village: &Rc<RefCell<Village>>, who: &str, words: &str, got: &Got) {
    let (stage, raw, place) = {
        let mut village = village.borrow_mut();
        village.uid += 1;
        let uid = village.uid;
        let quoted: String = got.body.lines().map(|line| format!("> {line}\r\n")).collect();
        let raw = format!(
            "From: {who} <{}@hollowbank.example>\r\nTo: lowbell@hollowbank.example\r\n\
             Subject: Re: {}\r\nMessage-ID: <{uid}.{who}@hollowbank.example>\r\n\
             In-Reply-To: <{}>\r\nContent-Type: text/plain; charset=utf-8\r\n\r\n\
             {words}\r\n\r\n{quoted}",
            who.to_lowercase(),
            got.subject,
            got.id,
        );
        let place = MailPlace { mailbox: "INBOX".to_owned(), validity: 1, uid };
        (village.stage.clone(), raw, place)
    };
    say!("{:>28}  {who} answers by mail: {words}", "");
    let line = LineName::new("answers");
    if let Some(reply) = letter::read(raw.as_bytes(), &line, Some(place), false) {
        // The watch is gone only at the end of the night.
        let _ = stage.arrivals.send(Arrival::plain(Event::Answered(reply))).await;
    }
}

fn read(mail: &Mail) -> Option<(String, Got)> {
    let message = MessageParser::default().parse(mail.raw.as_bytes())?;
    let name = mail.to.split('@').next()?;
    let mut who = name.to_owned();
    who.get_mut(..1)?.make_ascii_uppercase();
    let got = Got {
        id: message.message_id()?.to_owned(),
        subject: message.subject().unwrap_or_default().to_owned(),
        body: message.body_text(0)?.into_owned(),
    };
    Some((who, got))
}

fn show(stage: &Stage, who: &str, got: &Got, now: Moment) {
    say!("\n    .-- mail to {who}, {} --", stage.zone.clock(now));
    say!("    | {}", got.subject);
    for line in got.body.lines().skip(1).filter(|line| !line.trim().is_empty()).take(SHOWN_LINES) {
        say!("    | {line}");
    }
    say!("    '--\n");
}
