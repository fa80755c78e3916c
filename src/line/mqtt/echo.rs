//! A message to ourselves that has to come back: a connection may stand for hours and carry nothing.
//!
//! Three that do not come back mean that it carries nothing. It refuses to blame the broker while we
//! ourselves were not listening.

use std::time::Duration;

use tokio::time::Instant;

/// One may be lost when a broker is laden, three in a row are not.
const MISSES: u32 = 3;

/// How much of the time between two echoes one is waited for. A quarter: a link that dies just after
/// one came back is found after three and a quarter times, which with 30 s is inside the 100 s of
/// needs.md N23.
const PATIENCE_SHARE: u32 = 4;

/// Handing a message on for longer than this, we were not listening.
pub(super) const HELD: Duration = Duration::from_secs(1);

/// What is known of the echo from one connection to the next.
#[derive(Debug)]
pub(super) struct Faith {
    every: Option<Duration>,
    topic: String,
    /// It came back at some time, so we may write there and read there.
    heard: bool,
    /// The last connection brought nothing back; this one has not yet.
    doubt: bool,
    given_up: bool,
}

impl Faith {
    pub(super) fn new(every: Option<Duration>, topic: String) -> Self {
        Self { every, topic, heard: false, doubt: false, given_up: false }
    }

    pub(super) fn every(&self) -> Option<Duration> {
        self.every.filter(|_| !self.given_up)
    }

    /// The topic to ask for.
    pub(super) fn wanted(&self) -> Option<String> {
        self.every().map(|_| self.topic.clone())
    }

    pub(super) fn in_doubt(&self) -> bool {
        self.doubt
    }

    /// `true` if that was in doubt.
    pub(super) fn came_back(&mut self) -> bool {
        self.heard = true;
        std::mem::take(&mut self.doubt)
    }

    /// A connection brought nothing back. `true` if it is to be given up: two connections in a row, and
    /// never once an echo, look like a broker that does not let us write there.
    pub(super) fn deaf(&mut self) -> bool {
        let again = std::mem::replace(&mut self.doubt, true);
        again && !self.heard
    }

    /// The topic, unless it was given up before.
    pub(super) fn give_up(&mut self) -> Option<String> {
        self.doubt = false;
        let before = std::mem::replace(&mut self.given_up, true);
        (!before).then(|| self.topic.clone())
    }
}

/// Is there anything to do?
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Beat {
    Nothing,
    Say(String),
    /// Nothing comes back.
    Deaf,
}

#[derive(Debug)]
pub(super) struct Echo {
    every: Duration,
    /// Told apart from what an earlier connection, or another program, left on the way.
    mark: u64,
    sent: u64,
    next: Instant,
    /// When the one on its way is given up.
    until: Option<Instant>,
    misses: u32,
    held: bool,
}

impl Echo {
    /// The first is due at once.
    pub(super) fn new(every: Duration, mark: u64, now: Instant) -> Self {
        Self { every, mark, sent: 0, next: now, until: None, misses: 0, held: false }
    }

    /// When `beat` has something to do next.
    pub(super) fn due(&self) -> Instant {
        self.until.map_or(self.next, |until| until.min(self.next))
    }

    pub(super) fn beat(&mut self, now: Instant) -> Beat {
        if self.until.is_some_and(|until| until <= now) {
            self.until = None;
            self.misses += u32::from(!std::mem::take(&mut self.held));
            if self.misses >= MISSES {
                return Beat::Deaf;
            }
        }
        if self.next > now {
            return Beat::Nothing;
        }
        self.sent += 1;
        self.next = now + self.every;
        self.until = Some(now + self.every / PATIENCE_SHARE);
        Beat::Say(format!("{:016x} {}", self.mark, self.sent))
    }

    /// Whether it is one of these echoes; late or not, it proves that the way there and back is open.
    pub(super) fn comes_back(&mut self, payload: &[u8]) -> bool {
        let ours = payload.starts_with(format!("{:016x} ", self.mark).as_bytes());
        if ours {
            self.until = None;
            self.misses = 0;
        }
        ours
    }

    /// We were not listening for a while: the one on its way is not counted against the broker.
    pub(super) fn held(&mut self) {
        self.held = self.until.is_some();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const EVERY: Duration = Duration::from_secs(30);

    /// Goes from deadline to deadline and hears nothing; how long until it is found out.
    fn found_after(echo: &mut Echo, from: Instant) -> Duration {
        loop {
            let due = echo.due();
            if echo.beat(due) == Beat::Deaf {
                return due - from;
            }
        }
    }

    /// Source: needs.md N23, at most 100 s.
    #[test]
    fn a_link_that_dies_after_an_echo_is_found_within_a_hundred_seconds() {
        let start = Instant::now();
        let mut echo = Echo::new(EVERY, 7, start);
        let Beat::Say(text) = echo.beat(start) else { panic!("the first is due at once") };
        assert!(echo.comes_back(text.as_bytes()));
        let found = found_after(&mut echo, start);
        assert!(found > EVERY * 3 && found <= Duration::from_secs(100), "{found:?}");
    }

    #[test]
    fn an_echo_that_never_came_is_given_up_and_one_that_did_is_not() {
        let faith = || Faith::new(Some(EVERY), "lowbell/hollow/echo".to_owned());
        let mut never = faith();
        assert!(!never.deaf() && never.in_doubt());
        assert!(never.deaf());
        assert_eq!(never.give_up().as_deref(), Some("lowbell/hollow/echo"));
        assert_eq!((never.give_up(), never.wanted(), never.in_doubt()), (None, None, false));
        let mut once = faith();
        assert!(!once.came_back());
        assert!(!once.deaf() && !once.deaf() && !once.deaf());
        assert!(once.came_back(), "it was in doubt");
        assert!(!once.came_back() && once.wanted().is_some());
    }

    #[test]
    fn what_comes_back_late_is_an_echo_too_and_what_is_not_ours_is_none() {
        let start = Instant::now();
        let mut echo = Echo::new(EVERY, 7, start);
        let Beat::Say(first) = echo.beat(start) else { panic!() };
        assert_eq!(echo.beat(start + EVERY / 4), Beat::Nothing);
        assert!(!echo.comes_back(b"0000000000000008 1"));
        assert!(!echo.comes_back(b""));
        assert!(matches!(echo.beat(start + EVERY), Beat::Say(_)));
        assert_eq!(echo.misses, 1);
        assert!(echo.comes_back(first.as_bytes()));
        assert_eq!(echo.misses, 0);
    }

    #[test]
    fn while_we_do_not_listen_nothing_is_missed() {
        let start = Instant::now();
        let mut echo = Echo::new(EVERY, 7, start);
        let mut now = start;
        for _ in 0..10 {
            assert!(matches!(echo.beat(now), Beat::Say(_)));
            echo.held();
            now += EVERY;
        }
        assert_eq!(echo.misses, 0);
        // A word about a time before the last one went out excuses nothing later.
        echo.beat(now);
        assert!(found_after(&mut echo, now) <= EVERY * 3);
    }
}
