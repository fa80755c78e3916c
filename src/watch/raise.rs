//! A finding becomes an alert, and an alert ends: with what is said of either in the diary.

use std::rc::Rc;

use super::Watch;
use super::out::Out;
use super::ready::Ready;
use crate::alarm::ending::Ending;
use crate::alarm::ladder;
use crate::alarm::moves::Move;
use crate::alarm::watchman::Raising;
use crate::config::rules::Rule;
use crate::plain::ids::{AlertNo, Animal, GatewayName, PersonName};
use crate::plain::moment::{Moment, Span};
use crate::rules::book;
use crate::rules::verdict::{Figures, Finding, Subject};
use crate::talk::named;
use crate::talk::phrases;
use crate::talk::reason;
use crate::talk::speech::Speech;

/// A finding is "late" when it is raised more than this after its time.
const LATE_AFTER: Span = Span::minutes(1);

/// Animals named in one line of the diary.
const NAMED_IN_THE_DIARY: usize = 12;

impl Watch {
    pub(super) fn found(
        &mut self,
        finding: Finding,
        rule: &Rule,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) {
        let Some(tell) = &rule.tell else {
            let name = format!("{} / {}", finding.rule, finding.subject);
            if self.state.logged.insert(name) {
                out.note(format!("{}: {}", finding.subject, finding.rule));
            }
            return;
        };
        let rungs = ladder::named(&ready.config, tell).map_or(1, |ladder| ladder.rungs.len());
        let how = Raising {
            ladder: tell.clone(),
            priority: book::priority(rule),
            first_rung: if rule.loud { rungs.saturating_sub(1) } else { 0 },
            late: self.late(finding.wrong.since),
            on: self.wearer(&finding.subject),
            seed: self.state.seed,
            first: self.first_call(&finding.subject, rule, ready),
        };
        let late = how.late;
        let no = self.state.watchman.raise(finding, how, self.state.now);
        let subject = self.state.watchman.open[&no].subject.clone();
        if let Some(missing) = Self::missing(&subject)
            && let Some(alert) = self.state.watchman.open.get_mut(&no)
        {
            // Nobody is sent to look for themselves.
            alert.passed.insert(missing.clone());
        }
        self.herd_again(&subject, ready);
        let alert = &self.state.watchman.open[&no];
        let mut text = match &alert.subject {
            Subject::Dam(_) | Subject::Device(_) => {
                format!("alert {no} {}: {} {}", alert.code, alert.subject, alert.rule)
            }
            Subject::Line(line) => format!("alert {no} {}: {line}, {}", alert.code, alert.rule),
            Subject::Rota => {
                let why = reason::short(&alert.figures, self.state.now, phrases::english());
                format!("alert {no} {}: {}, {why}", alert.code, alert.rule)
            }
            Subject::Drill => format!("alert {no} {}: a drill", alert.code),
            Subject::Person(person) => {
                let why = reason::short(&alert.figures, self.state.now, phrases::english());
                format!("alert {no} {}: {person}, {}, {why}", alert.code, alert.rule)
            }
            Subject::Gateway(_) | Subject::Herd => {
                let name = match &alert.subject {
                    Subject::Gateway(gateway) => gateway.to_string(),
                    Subject::Dam(_)
                    | Subject::Device(_)
                    | Subject::Line(_)
                    | Subject::Person(_)
                    | Subject::Rota
                    | Subject::Drill
                    | Subject::Herd => alert.subject.to_string(),
                };
                let who = named::animals(&alert.figures, NAMED_IN_THE_DIARY, phrases::english());
                format!("alert {no} {}: {name}, {}, {who}", alert.code, alert.rule)
            }
        };
        if let Some(why) = reason::more(&alert.figures, self.state.now, phrases::english()) {
            text.push_str(&format!(": {why}"));
        }
        if let Some(late) = late {
            text.push_str(&format!(
                ", late by {}, we were down",
                crate::plain::english::span(late)
            ));
        }
        out.note(text);
        self.follow(vec![Move::Notice(no, "alert.raised")], ready, out);
    }

    /// How late a finding is because nobody watched when its time came.
    fn late(&self, since: Moment) -> Option<Span> {
        let gap = self.state.down?;
        let late = self.state.now.since(since);
        (since > gap.from && since <= gap.to && late >= LATE_AFTER).then_some(late)
    }

    pub(super) fn end_alert(
        &mut self,
        no: AlertNo,
        subject: &Subject,
        ready: &Rc<Ready>,
        out: &mut Out,
    ) {
        let ending = self.why_over(no, subject, ready);
        let because = Speech::english(&ready.config).ending(&ending);
        // Whoever is on the way because of signs that have faded is not told to turn round: only a look
        // tells whether all is well.
        let alert = self.state.watchman.open.get(&no);
        let faded = alert.filter(|alert| alert.figures.may_fade());
        let on_the_way = faded.and_then(|alert| alert.holder().cloned());
        let by = self.moment.by.clone().or(on_the_way);
        let moves = self.state.watchman.over(no, self.state.now, (ending, &because), by.as_ref());
        self.follow(moves, ready, out);
        self.herd_again(subject, ready);
    }

    /// The dam that wears the device a finding is about.
    fn wearer(&self, subject: &Subject) -> Option<Animal> {
        let Subject::Device(device) = subject else { return None };
        let place = self.state.devices.find(device.as_str())?;
        let on = self.state.ledger.wearing(place, self.state.now)?;
        Some(self.state.dams.at(on.dam).0.clone())
    }

    /// Why an alert is over: the mark just made, or that what was wrong has passed by itself.
    fn why_over(&self, no: AlertNo, subject: &Subject, ready: &Ready) -> Ending {
        if let (Subject::Dam(animal), Some((marked, ending))) = (subject, &self.moment.mark)
            && animal == marked
        {
            return ending.clone();
        }
        let alert = self.state.watchman.open.get(&no);
        let figures = alert.map(|alert| &alert.figures);
        let denied = match (subject, alert) {
            (Subject::Dam(animal), Some(alert)) => {
                let place = self.state.dams.find(animal);
                place.is_some_and(|place| self.is_denied(&alert.rule, place, ready))
            }
            (
                Subject::Dam(_)
                | Subject::Device(_)
                | Subject::Line(_)
                | Subject::Gateway(_)
                | Subject::Person(_)
                | Subject::Rota
                | Subject::Drill
                | Subject::Herd,
                _,
            ) => false,
        };
        match (subject, figures) {
            (Subject::Dam(_), Some(Figures::Counted { .. })) => Ending::Faded,
            (
                Subject::Dam(_),
                Some(Figures::Level { .. } | Figures::Changed { .. } | Figures::Seen { .. }),
            ) if !denied => Ending::Unheard,
            (Subject::Dam(_), Some(Figures::Level { .. })) => Ending::Within,
            (Subject::Dam(_), Some(Figures::Changed { .. })) => Ending::AsBefore,
            (Subject::Dam(_), Some(Figures::Seen { .. })) => Ending::Unseen,
            (Subject::Dam(_), _) => Ending::NotSo,
            (Subject::Device(_), Some(Figures::Ill { .. })) => Ending::Well,
            (Subject::Device(_), _) => Ending::HeardOrOff,
            (Subject::Gateway(gateway), _) => self.why_gateway_over(gateway),
            (Subject::Person(person), _) => self.why_person_over(person),
            (Subject::Rota, _) => Ending::Taken,
            (Subject::Drill, _) => self.why_drill_over(),
            (Subject::Herd, _) => Ending::Watched,
            (Subject::Line(_), Some(Figures::Trouble { momentary: true, .. })) => Ending::SeenTo,
            (Subject::Line(_), _) => Ending::Works,
        }
    }

    fn why_person_over(&self, person: &PersonName) -> Ending {
        let who = person.clone();
        if self.state.inside.contains_key(person) {
            Ending::Answered { who }
        } else {
            Ending::Out { who }
        }
    }

    fn why_gateway_over(&self, gateway: &GatewayName) -> Ending {
        let known = self.state.gateways.iter().find(|(name, _)| name == gateway);
        let heard = known.and_then(|(_, record)| record.heard);
        let back = heard.is_some_and(|heard| heard == self.state.now);
        if back { Ending::Heard } else { Ending::AboveSilent }
    }
}
