//! A mail that came in, before its words are heard: was it read before, and did a person write it?

use std::rc::Rc;

use super::Watch;
use super::out::Out;
use super::ready::Ready;
use crate::alarm::ladder;
use crate::config::lines::Way;
use crate::talk::human::{self, DeliveryReport, Hand};
use crate::talk::letter::{MailProof, Reply, Sender};
use crate::talk::thread;

impl Watch {
    /// Whether this mail was read before, by its place or, in a mailbox numbered anew, by its id.
    pub(super) fn read_before(&mut self, reply: &Reply, mail: &MailProof) -> bool {
        if let Some(place) = &mail.place {
            if let Some(read) = self.state.mailboxes.get(&reply.line)
                && read.mailbox == place.mailbox
                && read.validity == place.validity
                && place.uid <= read.uid
            {
                return true;
            }
            self.state.mailboxes.insert(reply.line.clone(), place.clone());
        }
        let Some(id) = &mail.message_id else {
            return false;
        };
        if self.state.letters.iter().any(|seen| seen == id) {
            return true;
        }
        self.state.letters.push(id.clone());
        false
    }

    pub(super) fn is_a_machine(
        &mut self,
        reply: &Reply,
        mail: &MailProof,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) -> bool {
        let from = match &reply.from {
            Sender::Mail(from) | Sender::Mobile(from) | Sender::Name(from) => from.clone(),
        };
        match human::judge(mail) {
            Hand::Person => false,
            Hand::Machine { why } => {
                let what = format!("a mail from {}", from.chars().take(80).collect::<String>());
                self.refuse(&format!("machine {from}"), &what, why, out);
                true
            }
            Hand::Report(report) => {
                if report.failed() {
                    self.bounced(&report, ready, out);
                }
                true
            }
        }
    }

    /// The mail server says that one of our mails did not arrive: the ladder goes on at once.
    fn bounced(&mut self, report: &DeliveryReport, ready: &Rc<Ready>, out: &mut Out) {
        let about = report.about.as_slice();
        let Some(no) = thread::which_message(about, &[], self.state.seed) else {
            return;
        };
        let Some(who) = ready.by_mail(&report.recipient).cloned() else {
            return;
        };
        out.note(format!("message {no} to {who} came back: {}", report.status));
        let mail = ready.config.lines.iter().filter(|line| matches!(line.way, Way::Smtp(_)));
        for line in mail {
            if let Some(address) = ladder::address(&ready.config, &who, &line.name) {
                self.is_not_reached(&who, &line.name, &address);
            }
        }
        let alerts = self.state.watchman.sent.alerts_of(no);
        for alert in alerts {
            let now = self.state.now;
            let moves = self.state.watchman.failed(&ready.config, alert, no, &who, now);
            self.follow(moves, ready, out);
        }
    }
}
