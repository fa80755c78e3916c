//! Where an address in the settings leads, looked up once and checked before anything is sent.
//!
//! A web address from the settings must not become a way into the farm's own network, unless the
//! farm says that it means it. The name is looked up here, every answer is checked, and the
//! connection is made to what was checked: nobody looks the name up a second time.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr};

use reqwest::Url;

use super::Attempt;
use super::patience::Patience;
use super::quote::one_line;

/// More addresses than any real gateway has.
const ADDRESS_CAP: usize = 16;

/// A web address and the only machines that it may mean during this try.
#[derive(Clone, Debug)]
pub(super) struct Target {
    pub(super) url: Url,
    pub(super) addresses: Vec<SocketAddr>,
}

impl Target {
    /// Looks up where `url` leads. `whose` is what it stands on, such as "line hook", for the words.
    pub(super) async fn find(
        url: &str,
        allow_private: bool,
        whose: &str,
        patience: &Patience,
    ) -> Result<Self, Attempt> {
        let (url, host, port) = take_apart(url, whose)?;
        let addresses = match host.parse::<IpAddr>() {
            Ok(address) => vec![SocketAddr::new(address, port)],
            Err(_) => look_up(&host, port, patience).await?,
        };
        if !allow_private {
            refuse_inside(&host, &addresses, whose)?;
        }
        Ok(Self { url, addresses })
    }
}

/// The address, its host without brackets, and its port. Host names come out as the URL standard
/// writes them, so `http://0x7f.1/` is `127.0.0.1` here and in the check.
fn take_apart(text: &str, whose: &str) -> Result<(Url, String, u16), Attempt> {
    let never = |why: &str| Attempt::Never { why: format!("the url of {whose} {why}") };
    let url = Url::parse(text).map_err(|fault| never(&format!("is not a web address: {fault}")))?;
    if !matches!(url.scheme(), "http" | "https") {
        return Err(never("must begin with https:// or http://"));
    }
    let host = url
        .host_str()
        .ok_or_else(|| never("names no machine"))?
        .trim_start_matches('[')
        .trim_end_matches(']')
        .to_owned();
    let port = url.port_or_known_default().ok_or_else(|| never("names no port"))?;
    Ok((url, host, port))
}

async fn look_up(host: &str, port: u16, patience: &Patience) -> Result<Vec<SocketAddr>, Attempt> {
    let later = |why: String| Attempt::Later { why, after: None };
    let found = patience
        .keep(tokio::net::lookup_host((host, port)))
        .await
        .map_err(|_| later(format!("looking up {host} took more than {}", patience.words())))?
        .map_err(|fault| {
            later(format!("{host} was not found: {}", one_line(&fault.to_string())))
        })?;
    let addresses: Vec<SocketAddr> = found.take(ADDRESS_CAP).collect();
    if addresses.is_empty() {
        return Err(later(format!("{host} has no address")));
    }
    Ok(addresses)
}

/// One inside address among many is enough to refuse: the connection might pick it.
fn refuse_inside(host: &str, addresses: &[SocketAddr], whose: &str) -> Result<(), Attempt> {
    let Some(inside) = addresses.iter().map(SocketAddr::ip).find(|ip| is_inside(*ip)) else {
        return Ok(());
    };
    Err(Attempt::Never {
        why: format!(
            "{host} leads to {inside}, which is this machine or a private network; \
             if that is meant, set allow-private = true on {whose}"
        ),
    })
}

/// Whether an address is this machine, a private network, or otherwise not out in the internet
/// (the special-purpose registries of RFC 6890, without the documentation ranges).
fn is_inside(address: IpAddr) -> bool {
    match address {
        IpAddr::V4(v4) => is_inside_v4(v4),
        IpAddr::V6(v6) => is_inside_v6(v6),
    }
}

fn is_inside_v4(address: Ipv4Addr) -> bool {
    let [a, b, c, _] = address.octets();
    matches!(
        (a, b, c),
        (0 | 10 | 127, ..)
            | (100, 64..=127, _)
            | (169, 254, _)
            | (172, 16..=31, _)
            | (192, 0, 0)
            | (192, 168, _)
            | (198, 18..=19, _)
            | (224..=255, ..)
    )
}

fn is_inside_v6(address: Ipv6Addr) -> bool {
    // An IPv6 address may carry an IPv4 one; that is the one that counts.
    if let Some(v4) = address.to_ipv4() {
        return is_inside_v4(v4);
    }
    let [a, b, c, d, e, f, g, h] = address.segments();
    let carried = |high: u16, low: u16| {
        let [w, x] = high.to_be_bytes();
        let [y, z] = low.to_be_bytes();
        is_inside_v4(Ipv4Addr::new(w, x, y, z))
    };
    match (a, b) {
        // NAT64 (RFC 6052), then its local-use prefix (RFC 8215).
        (0x64, 0xff9b) if (c, d, e, f) == (0, 0, 0, 0) => carried(g, h),
        (0x64, 0xff9b) => true,
        // 6to4 (RFC 3056).
        (0x2002, _) => carried(b, c),
        // Unique local, link local, the old site local, multicast.
        (0xfc00..=0xfdff | 0xfe80..=0xfeff | 0xff00..=0xffff, _) => true,
        (_, _) => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::moment::Span;

    #[test]
    fn addresses_that_are_not_out_in_the_internet_are_known() {
        // RFC 6890 (special-purpose registries), RFC 6052, RFC 8215, RFC 3056, RFC 4291 section 2.5.5.
        for inside in [
            "0.0.0.0",
            "10.1.2.3",
            "100.64.0.1",
            "100.127.255.255",
            "127.0.0.1",
            "127.255.0.1",
            "169.254.169.254",
            "172.16.0.1",
            "172.31.255.255",
            "192.0.0.8",
            "192.168.1.10",
            "198.18.0.1",
            "224.0.0.1",
            "240.0.0.1",
            "255.255.255.255",
            "::",
            "::1",
            "fc00::1",
            "fd12:3456::1",
            "fe80::1",
            "febf::1",
            "fec0::1",
            "ff02::1",
            "::ffff:10.0.0.1",
            "::127.0.0.1",
            "64:ff9b::10.0.0.1",
            "64:ff9b:1::1",
            "2002:7f00:1::",
        ] {
            assert!(is_inside(inside.parse().unwrap()), "{inside}");
        }
        for outside in [
            "1.1.1.1",
            "100.63.255.255",
            "100.128.0.1",
            "172.15.0.1",
            "172.32.0.1",
            "192.167.1.1",
            "198.17.0.1",
            "203.0.113.9",
            "223.255.255.255",
            "2001:db8::1",
            "2606:4700::1111",
            "::ffff:203.0.113.9",
            "64:ff9b::203.0.113.9",
            "2002:cb00:7109::1",
        ] {
            assert!(!is_inside(outside.parse().unwrap()), "{outside}");
        }
    }

    #[test]
    fn one_inside_address_among_many_is_refused_with_the_way_out() {
        let addresses = ["203.0.113.9:443", "192.168.1.10:443"].map(|a| a.parse().unwrap());
        assert_eq!(refuse_inside("gate.hollowbank.example", &addresses[..1], "line sms"), Ok(()));
        assert_eq!(
            refuse_inside("gate.hollowbank.example", &addresses, "line sms"),
            Err(Attempt::Never {
                why: "gate.hollowbank.example leads to 192.168.1.10, which is this machine or a \
                      private network; if that is meant, set allow-private = true on line sms"
                    .to_owned()
            })
        );
    }

    #[tokio::test]
    async fn every_way_to_write_this_machine_is_refused() {
        for url in [
            "http://127.0.0.1:9/",
            "http://127.1:9/",
            "http://0x7f000001:9/",
            "http://2130706433:9/",
            "http://[::1]:9/",
            "http://[::ffff:127.0.0.1]:9/",
            "http://localhost:9/",
        ] {
            let found = find(url, false).await;
            let Err(Attempt::Never { why }) = found else {
                panic!("{url} led to {found:?}");
            };
            assert!(
                why.ends_with("if that is meant, set allow-private = true on line hook"),
                "{why}"
            );
            assert!(!find(url, true).await.unwrap().addresses.is_empty(), "{url}");
        }
    }

    #[tokio::test]
    async fn what_is_not_a_web_address_is_never_tried() {
        for (url, why) in [
            ("yard", "the url of line hook is not a web address: relative URL without a base"),
            ("ftp://203.0.113.9/", "the url of line hook must begin with https:// or http://"),
        ] {
            let expected = Attempt::Never { why: why.to_owned() };
            assert_eq!(find(url, true).await.unwrap_err(), expected);
        }
    }

    async fn find(url: &str, allow_private: bool) -> Result<Target, Attempt> {
        Target::find(url, allow_private, "line hook", &Patience::of(Span::seconds(5))).await
    }
}
