//! Who is here, from where, and who has tried in vain.
//!
//! It only counts: whoever is refused for it is refused by `door` or `guest`, and told by `news`.

use std::collections::{BTreeMap, BTreeSet};
use std::net::{IpAddr, Ipv6Addr};
use std::sync::Arc;
use std::time::Duration;

use tokio::time::Instant;

use crate::config::built_in::{Limits, is_inside};

/// Failures are counted over this, and so long an address waits.
const WHILE: Duration = Duration::from_secs(60);

/// Addresses whose failures are remembered; past it the oldest are forgotten.
const FAILED_MAX: usize = 1_000;

/// Names that have come in from an address; past it they must prove themselves again.
const PROVEN_MAX: usize = 4_000;

/// Two that push each other out within this are two, not one that came back.
const TWINS: Duration = Duration::from_secs(60);

#[derive(Debug, Default)]
pub(super) struct Roll {
    next: u64,
    here: u64,
    by_address: BTreeMap<IpAddr, u64>,
    failed: BTreeMap<IpAddr, Failed>,
    proven: BTreeSet<(IpAddr, Arc<str>)>,
    clients: BTreeMap<String, Client>,
}

#[derive(Debug)]
struct Failed {
    since: Instant,
    times: u64,
    waits_until: Option<Instant>,
}

/// Those who call themselves the same: one, but for the moment in which another takes its place.
#[derive(Debug, Default)]
struct Client {
    here: Vec<Place>,
    pushed: Option<Instant>,
}

#[derive(Clone, Debug)]
struct Place {
    no: u64,
    from: IpAddr,
    user: Arc<str>,
}

/// Why there is no room.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Full {
    House,
    Address,
}

/// One address, or what one household is given of IPv6, whose every machine has addresses without
/// number (RFC 6177). Inside the farm's network every machine counts for itself.
pub(super) fn household(ip: IpAddr) -> IpAddr {
    match ip.to_canonical() {
        IpAddr::V6(six) if !is_inside(six.into()) => {
            IpAddr::V6(Ipv6Addr::from_bits(six.to_bits() >> 64 << 64))
        }
        ip @ (IpAddr::V4(_) | IpAddr::V6(_)) => ip,
    }
}

impl Roll {
    /// A number for the newcomer, who must `leave` with it.
    pub(super) fn enter(&mut self, from: IpAddr, limits: &Limits) -> Result<u64, Full> {
        if self.here >= limits.connections {
            return Err(Full::House);
        }
        let from = household(from);
        let same = self.by_address.entry(from).or_default();
        if *same >= limits.per_address {
            return Err(Full::Address);
        }
        *same += 1;
        self.here += 1;
        self.next += 1;
        Ok(self.next)
    }

    pub(super) fn leave(&mut self, from: IpAddr, no: u64) {
        // Whoever leaves in good order is not among them any more.
        self.clients.retain(|_, client| {
            client.here.retain(|place| place.no != no);
            !client.here.is_empty()
        });
        let from = household(from);
        self.here = self.here.saturating_sub(1);
        if let Some(same) = self.by_address.get_mut(&from) {
            *same = same.saturating_sub(1);
            if *same == 0 {
                self.by_address.remove(&from);
            }
        }
    }

    /// Whether an address has guessed too often. Whoever has come in from there before may always try:
    /// one sensor with a wrong password must not silence the others behind the same gateway.
    pub(super) fn must_wait(&self, from: IpAddr, name: Option<&str>, now: Instant) -> bool {
        let from = household(from);
        let waits = self.failed.get(&from).and_then(|failed| failed.waits_until);
        let is_proven = name.is_some_and(|name| self.proven.contains(&(from, name.into())));
        waits.is_some_and(|until| now < until) && !is_proven
    }

    /// A wrong name or password.
    pub(super) fn fails(&mut self, from: IpAddr, limits: &Limits, now: Instant) {
        let from = household(from);
        self.failed.retain(|_, failed| now < failed.waits_until.unwrap_or(failed.since + WHILE));
        if !self.failed.contains_key(&from) && self.failed.len() >= FAILED_MAX {
            let oldest = self.failed.iter().min_by_key(|(_, failed)| failed.since);
            if let Some(oldest) = oldest.map(|(ip, _)| *ip) {
                self.failed.remove(&oldest);
            }
        }
        let new = Failed { since: now, times: 0, waits_until: None };
        let failed = self.failed.entry(from).or_insert(new);
        failed.times += 1;
        if failed.times >= limits.failed_logins && failed.waits_until.is_none() {
            failed.waits_until = Some(now + WHILE);
        }
    }

    /// A right one.
    pub(super) fn proves(&mut self, from: IpAddr, name: Arc<str>) {
        if self.proven.len() >= PROVEN_MAX {
            self.proven.clear();
        }
        self.proven.insert((household(from), name));
    }

    /// Somebody let in calls itself `id`. `false` if that is another user's, who is here.
    pub(super) fn calls_itself(
        &mut self,
        id: &str,
        no: u64,
        from: IpAddr,
        user: &Arc<str>,
    ) -> bool {
        let client = self.clients.entry(id.to_owned()).or_default();
        if client.here.iter().any(|other| other.user != *user) {
            return false;
        }
        client.here.push(Place { no, from, user: user.clone() });
        true
    }

    /// It is gone. The address of whoever took its place, if the two are likely to be two.
    pub(super) fn is_gone(&mut self, id: &str, no: u64, now: Instant) -> Option<IpAddr> {
        let client = self.clients.get_mut(id)?;
        let at = client.here.iter().position(|place| place.no == no)?;
        let gone = client.here.remove(at);
        let Some(newer) = client.here.iter().find(|place| place.no > no).cloned() else {
            if client.here.is_empty() {
                self.clients.remove(id);
            }
            return None;
        };
        let again = client.pushed.is_some_and(|at| now.duration_since(at) < TWINS);
        client.pushed = Some(now);
        (again || newer.from != gone.from).then_some(newer.from)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMITS: Limits = Limits {
        connections: 3,
        per_address: 2,
        packet: 0,
        messages: 0,
        bytes: 0,
        failed_logins: 3,
    };

    fn ip(text: &str) -> IpAddr {
        text.parse().unwrap()
    }

    #[test]
    fn there_is_room_for_so_many_of_each_address_and_in_all() {
        let mut roll = Roll::default();
        let (one, two) = (ip("192.168.1.20"), ip("192.168.1.21"));
        assert!(roll.enter(one, &LIMITS).is_ok() && roll.enter(one, &LIMITS).is_ok());
        assert_eq!(roll.enter(one, &LIMITS), Err(Full::Address));
        assert!(roll.enter(two, &LIMITS).is_ok());
        assert_eq!(roll.enter(two, &LIMITS), Err(Full::House));
        roll.leave(one, 1);
        assert!(roll.enter(two, &LIMITS).is_ok());
        for from in [one, two, two] {
            roll.leave(from, 2);
        }
        assert_eq!((roll.here, roll.by_address.len()), (0, 0));
    }

    #[test]
    fn an_address_waits_a_minute_after_three_failures_but_not_whoever_was_in_before() {
        let mut roll = Roll::default();
        let (from, other, now) = (ip("192.168.1.77"), ip("192.168.1.20"), Instant::now());
        roll.proves(from, "t-07".into());
        for _ in 0..2 {
            roll.fails(from, &LIMITS, now);
            assert!(!roll.must_wait(from, Some("admin"), now));
        }
        roll.fails(from, &LIMITS, now);
        assert!(roll.must_wait(from, Some("admin"), now) && roll.must_wait(from, None, now));
        assert!(!roll.must_wait(from, Some("t-07"), now));
        assert!(!roll.must_wait(other, Some("admin"), now));
        let later = now + WHILE;
        assert!(!roll.must_wait(from, Some("admin"), later));
        roll.fails(from, &LIMITS, later);
        assert!(!roll.must_wait(from, Some("admin"), later), "it begins anew");
    }

    #[test]
    fn a_client_that_comes_back_is_one_and_two_that_push_each_other_are_two() {
        let (mut roll, now) = (Roll::default(), Instant::now());
        let (user, here, there) = ("t-07".into(), ip("192.168.1.20"), ip("192.168.1.21"));
        assert!(roll.calls_itself("t-07", 1, here, &user));
        assert!(roll.calls_itself("t-07", 2, here, &user));
        assert_eq!(roll.is_gone("t-07", 1, now), None, "a link that broke and came back");
        assert!(roll.calls_itself("t-07", 3, here, &user));
        assert_eq!(roll.is_gone("t-07", 2, now), Some(here), "twice in a minute");
        assert!(roll.calls_itself("t-07", 4, there, &user));
        assert_eq!(roll.is_gone("t-07", 3, now + TWINS * 2), Some(there), "from elsewhere");
        assert!(!roll.calls_itself("t-07", 5, here, &"t-08".into()), "another user's");
        assert_eq!(roll.is_gone("t-07", 5, now), None);
        assert_eq!(roll.is_gone("t-07", 4, now), None);
        assert!(roll.clients.is_empty());
    }

    #[test]
    fn an_address_of_the_world_counts_with_its_household() {
        // 2001:db8::/32 is for documentation (RFC 3849).
        assert_eq!(household(ip("2001:db8:1:2:3:4:5:6")), ip("2001:db8:1:2::"));
        assert_eq!(household(ip("fd00::1:2:3:4")), ip("fd00::1:2:3:4"));
        assert_eq!(household(ip("::ffff:192.168.1.20")), ip("192.168.1.20"));
    }
}
