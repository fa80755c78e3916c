//! Addresses as the settings write them: of machines, of mailboxes, of telephones.
//!
//! It looks nothing up. What a name leads to is the lines' business.

use core::net::IpAddr;

/// The parts of `scheme://host:port/path`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Address {
    pub(super) scheme: String,
    /// Without the brackets of an IPv6 address.
    pub(super) host: String,
    pub(super) port: Option<u16>,
    /// Everything behind host and port.
    pub(super) path: String,
}

/// Takes an address apart, or says what is wrong with it.
pub(super) fn parse(text: &str) -> Result<Address, String> {
    let Some((scheme, rest)) = text.split_once("://") else {
        return Err("it has no :// in it".to_owned());
    };
    let ends = rest.find(['/', '?', '#']).unwrap_or(rest.len());
    let (machine, path) = rest.split_at(ends);
    if machine.contains('@') {
        return Err("user and password do not belong in an address".to_owned());
    }
    let (host, port) = split_port(machine)?;
    let good = |c: char| c.is_ascii_alphanumeric() || "-._".contains(c);
    let is_six = host.contains(':') && host.parse::<IpAddr>().is_ok();
    if host.is_empty() || !(is_six || host.chars().all(good)) {
        return Err("it names no machine".to_owned());
    }
    if path.chars().any(|c| c.is_whitespace() || c.is_control()) {
        return Err("it has a space in it".to_owned());
    }
    Ok(Address {
        scheme: scheme.to_ascii_lowercase(),
        host: host.to_owned(),
        port,
        path: path.to_owned(),
    })
}

fn split_port(machine: &str) -> Result<(&str, Option<u16>), String> {
    let (host, port) = if let Some(six) = machine.strip_prefix('[') {
        let Some((host, behind)) = six.split_once(']') else {
            return Err("its [ is never closed".to_owned());
        };
        match behind.strip_prefix(':') {
            None if behind.is_empty() => (host, None),
            None => return Err(format!("{behind} behind ] is no port")),
            port @ Some(_) => (host, port),
        }
    } else {
        match machine.rsplit_once(':') {
            Some((host, port)) => (host, Some(port)),
            None => (machine, None),
        }
    };
    let Some(port) = port else {
        return Ok((host, None));
    };
    match port.parse() {
        Ok(0) | Err(_) => Err(format!("{port:?} is no port")),
        Ok(number) => Ok((host, Some(number))),
    }
}

/// This machine itself, by its usual name or by number.
pub(super) fn is_loopback(host: &str) -> bool {
    host.eq_ignore_ascii_case("localhost")
        || host.parse::<IpAddr>().is_ok_and(|ip| ip.is_loopback())
}

/// Written as a number or name that can only mean this machine or the farm's own network.
pub(super) fn is_inside(host: &str) -> bool {
    let inside = |ip: IpAddr| match ip {
        IpAddr::V4(four) => {
            four.is_loopback() || four.is_private() || four.is_link_local() || four.is_unspecified()
        }
        IpAddr::V6(six) => {
            six.is_loopback()
                || six.is_unspecified()
                || six.is_unique_local()
                || six.is_unicast_link_local()
        }
    };
    host.eq_ignore_ascii_case("localhost") || host.parse().is_ok_and(inside)
}

/// The longest address a mail can go to (RFC 5321 section 4.5.3.1.3, less its two brackets).
const MAIL_MAX: usize = 254;

/// What is wrong with a mail address, if anything is.
pub(super) fn wrong_mail(text: &str) -> Option<&'static str> {
    let Some((local, domain)) = text.rsplit_once('@') else {
        return Some("it has no @ in it");
    };
    let odd = |c: char| c.is_whitespace() || c.is_control() || "<>(),;:\"\\[]@".contains(c);
    if local.is_empty() || domain.is_empty() || domain.starts_with('.') || domain.ends_with('.') {
        return Some("something is missing beside the @");
    }
    if text.len() > MAIL_MAX {
        return Some("it is longer than mail allows");
    }
    (local.contains(odd) || domain.contains(odd))
        .then_some("write the bare address, without a name, brackets or spaces")
}

/// A telephone number without the signs people put in to read it by; the flag says whether it is
/// international.
pub(super) fn telephone(text: &str) -> Option<(String, bool)> {
    let bare: String = text.chars().filter(|c| !" -./()".contains(*c)).collect();
    let digits = bare.strip_prefix('+').unwrap_or(&bare);
    // At most 15 digits (ITU-T E.164 section 6); the shortest numbers in use have three.
    let good = (3..=15).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_digit());
    let international = digits.len() < bare.len();
    good.then_some((bare, international))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_comes_apart() {
        let parts = |text| {
            let address = parse(text).unwrap();
            (address.scheme, address.host, address.port, address.path)
        };
        assert_eq!(
            parts("mqtt://127.0.0.1:1883"),
            ("mqtt".into(), "127.0.0.1".into(), Some(1883), String::new())
        );
        assert_eq!(
            parts("HTTPS://sms.hollowbank.example/send?x=1"),
            ("https".into(), "sms.hollowbank.example".into(), None, "/send?x=1".into())
        );
        assert_eq!(parts("smtp://[::1]:25").1, "::1");
        for bad in [
            "127.0.0.1:1883",
            "mqtt://",
            "mqtt://ana:pw@host",
            "mqtt://host:99999",
            "mqtt://host:0",
            "mqtt://host:",
            "mqtt://[::1",
            "mqtt://[::1]x",
            "mqtt://a b",
            "http://host/a b",
        ] {
            assert!(parse(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn an_address_on_the_farm_is_known_by_its_number() {
        for host in ["localhost", "127.0.0.9", "::1", "192.168.1.4", "fd00::1"] {
            assert!(is_inside(host), "{host}");
        }
        for host in ["hollowbank.example", "192.0.2.1", "2001:db8::1"] {
            assert!(!is_inside(host), "{host}");
        }
        assert!(is_loopback("127.0.0.1") && !is_loopback("192.168.1.4"));
    }

    #[test]
    fn a_mail_address_is_bare() {
        assert_eq!(wrong_mail("ana@hollowbank.example"), None);
        for bad in [
            "ana",
            "@hollowbank.example",
            "ana@",
            "Ana <ana@hollowbank.example>",
            "ana@hollowbank.example\r\nBcc: x@y",
            "ana@a@b",
        ] {
            assert!(wrong_mail(bad).is_some(), "{bad}");
        }
    }

    #[test]
    fn a_telephone_number_loses_what_it_was_read_by() {
        assert_eq!(telephone("+353 (86) 000-0001"), Some(("+353860000001".into(), true)));
        assert_eq!(telephone("086 0000001"), Some(("0860000001".into(), false)));
        for bad in ["", "+", "12", "+3538600000011234", "086 OOO OOO1", "+35+3"] {
            assert_eq!(telephone(bad), None, "{bad}");
        }
    }
}
