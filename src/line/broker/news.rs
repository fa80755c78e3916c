//! Says who was turned away, without letting those who are fill the journal.
//!
//! Each address is told of a few times at once, then together; nothing that was counted is lost.

use std::collections::BTreeMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use tokio::sync::mpsc;
use tokio::time::Instant;

use super::roll::household;
use crate::line::Arrival;
use crate::plain::english;
use crate::watch::event::{LineNews, Misdeed};

/// So many of a kind from one address are told one by one; then those of this long together.
const AT_ONCE: u32 = 10;
const TOGETHER: Duration = Duration::from_secs(30);

/// Kinds and addresses counted apart; the rest of them together, under no address.
const KEPT: usize = 256;

/// What strangers write into it is cut here.
const WORDS_MAX: usize = 80;

#[derive(Clone)]
pub(super) struct News {
    arrivals: mpsc::Sender<Arrival>,
    counts: Arc<Mutex<BTreeMap<Kind, Count>>>,
    together: Duration,
}

/// For what, and from where; `None` for the rest of them together.
type Kind = (Misdeed, Option<IpAddr>);

#[derive(Debug)]
struct Count {
    /// Told one by one since then.
    since: Instant,
    told: u32,
    /// Not told yet; a task waits to do so.
    held: u32,
    what: String,
    why: String,
}

impl News {
    pub(super) fn new(arrivals: mpsc::Sender<Arrival>) -> Self {
        Self { arrivals, counts: Arc::default(), together: TOGETHER }
    }

    /// Tells it now, or soon with others of its kind.
    pub(super) fn tell(&self, misdeed: Misdeed, from: IpAddr, what: &str, why: &str) {
        let now = Instant::now();
        let (what, why) = (english::printable(what, WORDS_MAX), english::printable(why, WORDS_MAX));
        let mut key = (misdeed, Some(household(from)));
        let mut counts = super::lock(&self.counts);
        counts.retain(|_, count| count.held > 0 || now < count.since + self.together);
        if !counts.contains_key(&key) && counts.len() >= KEPT {
            key.1 = None;
        }
        let new = Count { since: now, told: 0, held: 0, what: String::new(), why: String::new() };
        let count = counts.entry(key).or_insert(new);
        if count.held == 0 && count.told < AT_ONCE {
            // A full inbox takes it later.
            if self.arrivals.try_send(news(key, &what, &why, 1)).is_ok() {
                count.told += 1;
                return;
            }
        }
        count.held += 1;
        (count.what, count.why) = (what, why);
        if count.held == 1 {
            let news = self.clone();
            tokio::spawn(async move { news.later(key).await });
        }
    }

    async fn later(&self, key: Kind) {
        tokio::time::sleep(self.together).await;
        let held = {
            let mut counts = super::lock(&self.counts);
            let Some(count) = counts.get_mut(&key) else { return };
            count.since = Instant::now();
            let times = std::mem::take(&mut count.held);
            news(key, &count.what, &count.why, times)
        };
        // An inbox that is gone belongs to a program that is stopping.
        let _ = self.arrivals.send(held).await;
    }
}

fn news(key: Kind, what: &str, why: &str, times: u32) -> Arrival {
    let (for_what, from) = key;
    let from = from.map_or_else(|| "many addresses".to_owned(), |ip| ip.to_string());
    let (what, why) = (what.to_owned(), why.to_owned());
    Arrival::plain(super::line(LineNews::TurnedAway { for_what, from, what, why, times }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::watch::event::Event;

    #[tokio::test]
    async fn a_flood_is_told_a_few_times_and_then_by_its_number() {
        let (arrivals, mut inbox) = mpsc::channel(100);
        let news = News { together: Duration::from_millis(20), ..News::new(arrivals) };
        let from = "192.168.1.77".parse().unwrap();
        for _ in 0..5_000 {
            news.tell(Misdeed::Login, from, "a login as admin\nnot this", "it is unknown");
        }
        let mut told = Vec::new();
        while told.len() < 11 {
            let Event::Line(state) = inbox.recv().await.unwrap().event else { panic!() };
            let LineNews::TurnedAway { from, what, times, .. } = state.news else { panic!() };
            assert_eq!(
                (from.as_str(), what.as_str()),
                ("192.168.1.77", "a login as admin?not this")
            );
            told.push(times);
        }
        assert_eq!(told, [vec![1; 10], vec![4_990]].concat());
        assert!(inbox.try_recv().is_err());
    }

    #[tokio::test]
    async fn a_full_inbox_takes_it_later_and_many_addresses_are_one() {
        let (arrivals, mut inbox) = mpsc::channel(1);
        let news = News { together: Duration::from_millis(20), ..News::new(arrivals) };
        for n in 0..=255_u8 {
            for m in 0..2_u8 {
                let from = IpAddr::from([192, 168, m, n]);
                news.tell(Misdeed::Crowd, from, "a connection", "there is no room");
            }
        }
        let (mut all, mut together) = (0, 0);
        while all < 512 {
            let Event::Line(state) = inbox.recv().await.unwrap().event else { panic!() };
            let LineNews::TurnedAway { from, times, .. } = state.news else { panic!() };
            all += times;
            together += if from == "many addresses" { times } else { 0 };
        }
        // About half: an address is forgotten again once all is told of it.
        assert!(all == 512 && (200..=256).contains(&together), "{all} {together}");
        assert!(super::super::lock(&news.counts).len() <= KEPT + 1);
    }
}
