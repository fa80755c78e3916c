//! The parts of the board that say what is heard and who is watched, with ages as of the moment asked.

use std::collections::BTreeMap;

use super::Watch;
use super::coverage::look_every;
use super::ready::Ready;
use super::view::{DeviceView, RowView, ValueView};
use crate::herd::window::Window;
use crate::plain::amount::Amount;
use crate::plain::ids::{Animal, DeviceId};
use crate::plain::moment::Moment;
use crate::rules::verdict::Subject;
use crate::talk::watched::{self, LastLook, OnHer, Watched};

impl Watch {
    /// Every dam in her window, the unwatched first.
    pub(super) fn watched(&self, now: Moment, ready: &Ready) -> Vec<Watched> {
        let mut rows: Vec<Watched> = Vec::new();
        for row in &ready.config.animals {
            let Some(dam) = self.state.dams.find(&row.animal) else { continue };
            let cover = self.cover(dam, ready, now);
            if !cover.in_window {
                continue;
            }
            let window = Window::of(row, &ready.config.species, &ready.own);
            let today = ready.config.farm.zone.wall(now).date();
            let devices: Vec<OnHer> =
                self.state.ledger.on(dam, now).map(|on| self.on_her(on, now, ready)).collect();
            let look = self.state.looks.get(&dam).map(|look| LastLook {
                by: look.by.clone(),
                at: look.at,
                until: self.look_until(dam, ready),
            });
            let unwatched_since =
                if cover.until.is_none() { self.unwatched_since(dam, now, ready) } else { None };
            let by_device = devices.iter().any(|device| device.alive);
            let stage = self.state.dams.at(dam).1.stage;
            let next_look = look
                .as_ref()
                .and_then(|look| look.until)
                .filter(|until| *until > now)
                .or(look_every(stage, ready).map(|_| now));
            rows.push(Watched {
                animal: row.animal.clone(),
                name: row.name.clone(),
                group: row.group.clone(),
                stage,
                window: window.as_ref().map(|w| (w.from.to_string(), w.until.to_string())),
                overdue: window.is_some_and(|window| window.until < today),
                devices,
                look,
                watched: cover.until.is_some(),
                unwatched_since,
                next_look: next_look.filter(|_| !by_device),
            });
        }
        watched::sort(&mut rows);
        rows
    }

    fn on_her(&self, device: u32, now: Moment, ready: &Ready) -> OnHer {
        let (id, record) = self.state.devices.at(device);
        OnHer {
            device: id.clone(),
            kind: record.kind.as_deref().or(ready.kind_said(device)).map(str::to_owned),
            only_pictures: self.gives_pictures_only(device, ready),
            since: self.state.ledger.wearing(device, now).and_then(|on| on.from),
            heard: record.heard,
            alive: self.believed_until(device, ready).is_some_and(|until| until > now),
        }
    }

    /// When her last watcher ceased: a look that ran out, a device last heard or taken off; else when her
    /// window opened.
    fn unwatched_since(&self, dam: u32, now: Moment, ready: &Ready) -> Option<Moment> {
        let devices = self.state.ledger.on(dam, now);
        let heard = devices.filter_map(|device| self.state.devices.at(device).1.heard).max();
        let off = self.state.ledger.last_off(dam, now);
        let look = self.look_until(dam, ready);
        let opened = ready.window(dam).map(|(from, _)| from);
        [heard, off, look, opened].into_iter().flatten().filter(|at| *at <= now).max()
    }

    pub(super) fn device_views(&self, now: Moment, ready: &Ready) -> Vec<DeviceView> {
        let mut refused: BTreeMap<&str, Vec<(String, u64)>> = BTreeMap::new();
        for (kind, times) in &self.state.refusals {
            // "untimely t-07": a refusal of one device ends with its name.
            if let Some((why, name)) = kind.rsplit_once(' ') {
                refused.entry(name).or_default().push((why.to_owned(), *times));
            }
        }
        let mut ills: BTreeMap<&DeviceId, Vec<String>> = BTreeMap::new();
        for alert in self.state.watchman.open.values() {
            if let Subject::Device(device) = &alert.subject {
                ills.entry(device).or_default().push(alert.rule.to_string());
            }
        }
        (0..)
            .zip(self.state.devices.iter())
            .map(|(place, (id, record))| {
                let on = self.state.ledger.wearing(place, now);
                let values = record.last.iter().map(|(sign, known)| ValueView {
                    sign: sign.to_string(),
                    // As the rules have it: what a unit's conversion adds behind is no news.
                    value: Amount::of(known.value)
                        .map_or_else(|| known.value.to_string(), |amount| amount.to_string()),
                    at: known.at,
                    kept: known.kept,
                });
                DeviceView {
                    device: id.clone(),
                    kind: record.kind.as_deref().or(ready.kind_said(place)).map(str::to_owned),
                    on: on.map(|on| self.animal(on.dam)),
                    heard: record.heard,
                    alive: self.believed_until(place, ready).is_some_and(|until| until > now),
                    an_hour: record.lately.within_an_hour(now),
                    values: values.collect(),
                    battery: self.state.ledger.battery(place).map(|battery| battery.at),
                    ills: ills.remove(id).unwrap_or_default(),
                    refused: refused.remove(id.as_str()).unwrap_or_default(),
                    rows: self.row_views(place),
                }
            })
            .collect()
    }

    fn row_views(&self, device: u32) -> Vec<RowView> {
        let rows = self.state.ledger.rows(device).map(|row| RowView {
            on: row.dam.map(|dam| self.animal(dam)),
            from: row.from,
            until: row.until,
            by: row.by.words().to_owned(),
        });
        rows.collect()
    }

    fn animal(&self, dam: u32) -> Animal {
        self.state.dams.at(dam).0.clone()
    }
}
