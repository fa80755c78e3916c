//! How long each thing with a mail server may take, and how long to leave it alone.

use std::time::Duration;

use crate::config::lines::Imap;
use crate::plain::moment::Span;

/// How long each thing may take.
#[derive(Clone, Copy, Debug)]
pub struct Patience {
    /// Reaching the server and settling TLS with it.
    pub connect: Duration,
    /// One answer from the server. The beginning of a mail over a poor rural link takes a while.
    pub answer: Duration,
    /// The pause after the first failure; it doubles from there.
    pub first_pause: Duration,
    pub longest_pause: Duration,
    /// The pause after a refused password: mail providers shut out who insists.
    pub refused_pause: Duration,
    /// After news, so that mails that come together are read together.
    pub settle: Duration,
    /// What may still be said after being asked to stop.
    pub parting: Duration,
}

impl Default for Patience {
    fn default() -> Self {
        Self {
            connect: Duration::from_secs(20),
            answer: Duration::from_secs(60),
            first_pause: Duration::from_secs(2),
            longest_pause: Duration::from_secs(300),
            refused_pause: Duration::from_secs(60),
            settle: Duration::from_millis(250),
            parting: Duration::from_secs(3),
        }
    }
}

impl Patience {
    /// The pause after `failures` in a row. It doubles with each, and is spread so that a farm's
    /// lines do not all knock at once when a router comes back.
    pub(super) fn pause(&self, failures: u32, refused: bool) -> Duration {
        let doubled =
            self.first_pause.saturating_mul(1 << failures.min(16)).min(self.longest_pause);
        let spread = getrandom::u32().unwrap_or(u32::MAX / 2) % 1000;
        let pause = doubled / 2 + doubled.saturating_mul(spread) / 2000;
        if refused { pause.max(self.refused_pause) } else { pause }
    }
}

/// How long to wait for news before looking anyway: both of the settings' limits hold.
pub(super) fn period(line: &Imap) -> Duration {
    let shorter = line.poll.min(line.idle).min(Span::minutes(29));
    Duration::from_millis(shorter.millis().max(1000).unsigned_abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pause_doubles_up_to_its_limit_and_is_never_nothing() {
        let patience = Patience::default();
        for (failures, longest) in [(0, 2), (1, 4), (5, 64), (8, 300), (u32::MAX, 300)] {
            let longest = Duration::from_secs(longest);
            for _ in 0..50 {
                let pause = patience.pause(failures, false);
                assert!(pause >= longest / 2 && pause <= longest, "{failures}: {pause:?}");
            }
        }
        assert!(patience.pause(0, true) >= patience.refused_pause);
    }

    // RFC 2177: IDLE is to be asked anew before 29 minutes are over.
    #[test]
    fn the_shorter_of_the_settings_limits_holds() {
        let line = |poll, idle| Imap {
            server: crate::config::lines::Server {
                host: "127.0.0.1".to_owned(),
                port: 143,
                security: crate::config::lines::Security::Plain,
                user: None,
                password_file: None,
                ca: None,
            },
            mailbox: "INBOX".to_owned(),
            poll,
            idle,
        };
        let seconds = |poll, idle| period(&line(poll, idle)).as_secs();
        assert_eq!(seconds(Span::minutes(3), Span::minutes(9)), 180);
        assert_eq!(seconds(Span::minutes(30), Span::minutes(9)), 540);
        assert_eq!(seconds(Span::hours(2), Span::hours(2)), 29 * 60);
        assert_eq!(seconds(Span::ZERO, Span::minutes(9)), 1);
    }
}
