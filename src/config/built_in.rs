//! Reads what the built-in broker is told: where it listens, who may come, and how much it bears.
//!
//! It opens no password and no certificate: it names the files, and the line reads them.

use core::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr};

use super::faults::Placed;
use super::topic;
use super::tree::Table;

/// What it needs to be the broker.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BuiltIn {
    /// Where it listens without TLS.
    pub plain: Option<SocketAddr>,
    pub secure: Option<Secure>,
    pub users: Vec<User>,
    /// What clients without a name may do; `None` if they may not even come in.
    pub anonymous: Option<Rights>,
    pub limits: Limits,
}

impl BuiltIn {
    /// Where this machine itself reaches it, and whether that is by TLS.
    pub fn door(&self) -> (SocketAddr, bool) {
        let secure = self.secure.as_ref().map(|secure| (secure.address, true));
        let nowhere = SocketAddr::from(([127, 0, 0, 1], 1883));
        let door = self.plain.map(|address| (address, false)).or(secure);
        let (mut address, tls) = door.unwrap_or((nowhere, false));
        if address.ip().is_unspecified() {
            address.set_ip(match address {
                SocketAddr::V4(_) => Ipv4Addr::LOCALHOST.into(),
                SocketAddr::V6(_) => Ipv6Addr::LOCALHOST.into(),
            });
        }
        (address, tls)
    }
}

/// Where it listens with TLS, and the PEM files for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Secure {
    pub address: SocketAddr,
    pub certificate: String,
    pub key_file: String,
    /// Only clients with a certificate of this authority are let in.
    pub client_ca: Option<String>,
}

/// `[[broker.user]]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct User {
    pub name: String,
    pub password_file: String,
    pub rights: Rights,
}

/// Topic filters; what none of them covers is refused.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Rights {
    pub writes: Vec<String>,
    pub reads: Vec<String>,
}

/// How much it bears, of all clients and of each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    pub connections: u64,
    pub per_address: u64,
    /// Bytes of one packet; whoever sends more is cut off.
    pub packet: u64,
    /// Messages and bytes a second of one client; whoever sends more is slowed down.
    pub messages: u64,
    pub bytes: u64,
    /// Wrong passwords from one address within a minute; then it waits a minute.
    pub failed_logins: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            // Sensors, gateways and a few telephones: more is not a farm but a fault.
            connections: 200,
            // A gateway may hold one for each of its sensors, and must leave room for the others.
            per_address: 100,
            // More than the largest payload, so that what is too large can be named.
            packet: 1024 * 1024,
            // A thousand sensors behind one gateway speak 17 times a second; a backlog of three days
            // is in after an hour.
            messages: 1_000,
            bytes: 2 * 1024 * 1024,
            // A person who types is done after five; a program that guesses gets 7,200 a day.
            failed_logins: 5,
        }
    }
}

/// Each connection takes a file and some memory, and a Pi has 1,024 files for a program.
const CONNECTIONS_MAX: u64 = 800;
/// The least every client must be able to send (a greeting with a will), and the most for a Pi.
const PACKET_MIN: u64 = 4 * 1024;
const PACKET_MAX: u64 = 16 * 1024 * 1024;
/// One packet must not wait longer than a keep-alive.
const BYTES_MIN: u64 = 64 * 1024;
const BYTES_MAX: u64 = 1024 * 1024 * 1024;
const MESSAGES_MAX: u64 = 100_000;
const FAILED_LOGINS_MAX: u64 = 100;
/// A user for every sensor of a large herd.
const USERS_MAX: usize = 2_000;
/// More filters for one user are a list nobody checks.
const FILTERS_MAX: usize = 100;
const NAME_MAX: usize = 60;

/// Those who say no name, as the broker's notes and findings call them.
pub const NOBODY: &str = "anonymous";

/// The keys that only a broker of our own has.
const OWN_KEYS: [&str; 4] = ["built-in-tls", "client-ca", "anonymous", "limits"];

/// Says which keys are out of place where the broker is another program.
pub(super) fn out_of_place(table: &Table<'_>) {
    for key in OWN_KEYS {
        if table.has(key)
            && let Some(value) = table.value(key)
        {
            let title = format!("{key} is for the built-in broker, and url names another");
            value.refuse(title, "set it up at that broker, or take url out");
        }
    }
}

/// What stands in `[broker]` beside `built-in` or `built-in-tls`.
pub(super) fn read(table: &Table<'_>) -> Option<BuiltIn> {
    let before = table.faults().refusals();
    if let Some(password) = table.text("password-file") {
        let title = "a password-file here is for a broker elsewhere";
        let help = "the built-in broker's users are tables of their own: [[broker.user]]";
        table.faults().refuse(&password.at, title, help);
    }
    let users = users(table);
    let plain = table.text("built-in").and_then(|text| address(table, &text));
    let secure = secure(table);
    let anonymous = match table.table("anonymous") {
        Some(anonymous) => {
            let rights = rights(&anonymous, None);
            anonymous.done();
            Some(rights)
        }
        None if users.is_empty() => {
            let all = || vec!["#".to_owned()];
            Some(Rights { writes: all(), reads: all() })
        }
        None => None,
    };
    let limits = table.table("limits").map_or_else(Limits::default, limits);
    let built_in = BuiltIn {
        plain: plain.as_ref().map(|address| address.is),
        secure: secure.as_ref().map(|(secure, _)| secure.clone()),
        users,
        anonymous,
        limits,
    };
    let asks = built_in.asks_who();
    for (address, is_secure) in plain
        .into_iter()
        .map(|plain| (plain, false))
        .chain(secure.map(|(secure, at)| (Placed { is: secure.address, at }, true)))
    {
        if let Err((title, help)) = may_listen(address.is, is_secure, asks) {
            table.faults().refuse(&address.at, title, help);
        }
    }
    (table.faults().refusals() == before).then_some(built_in)
}

impl BuiltIn {
    /// Whether everybody must show who they are: by a password, or by a certificate.
    pub fn asks_who(&self) -> bool {
        let by_certificate = self.plain.is_none()
            && self.secure.as_ref().is_some_and(|secure| secure.client_ca.is_some());
        by_certificate || (!self.users.is_empty() && self.anonymous.is_none())
    }
}

fn address(table: &Table<'_>, text: &Placed<String>) -> Option<Placed<SocketAddr>> {
    if let Ok(is) = text.is.parse::<SocketAddr>() {
        return Some(Placed { is, at: text.at.clone() });
    }
    let title = format!("{} is not an address to listen on", text.is);
    let help = "write a number and a port: 127.0.0.1:1883 for this machine alone, or its own address in the farm's network";
    table.faults().refuse(&text.at, title, help);
    None
}

/// This machine, or a network that the rest of the world cannot reach by itself.
pub fn is_inside(ip: IpAddr) -> bool {
    match ip.to_canonical() {
        IpAddr::V4(ip) => ip.is_loopback() || ip.is_private() || ip.is_link_local(),
        IpAddr::V6(ip) => ip.is_loopback() || ip.is_unique_local() || ip.is_unicast_link_local(),
    }
}

/// Where strangers may come by, a door needs a lock.
fn may_listen(
    address: SocketAddr,
    is_secure: bool,
    asks_who: bool,
) -> Result<(), (String, &'static str)> {
    if is_inside(address.ip()) {
        return Ok(());
    }
    if address.ip().is_unspecified() {
        if is_secure || asks_who {
            return Ok(());
        }
        let title =
            "the built-in broker asks nobody for a password and listens on one address only";
        let help = "write this machine's own address in the farm's network, or add [[broker.user]] tables and no anonymous";
        return Err((title.to_owned(), help));
    }
    if is_secure && asks_who {
        return Ok(());
    }
    let title = format!("strangers may reach {address}");
    let help = "write this machine's own address in the farm's network, such as 192.168.1.20:1883; outside it takes built-in-tls and [[broker.user]] tables, and no anonymous";
    Err((title, help))
}

fn secure(table: &Table<'_>) -> Option<(Secure, super::faults::Place)> {
    let text = table.text("built-in-tls");
    if text.is_none() && !table.has("built-in-tls") {
        for key in ["certificate", "key-file", "client-ca"] {
            if let Some(value) = table.text(key) {
                let title = format!("{key} is for TLS, and nothing listens with TLS");
                let help = format!("add built-in-tls = \"0.0.0.0:8883\", or take {key} out");
                table.faults().refuse(&value.at, title, help);
            }
        }
        return None;
    }
    let certificate = table
        .needed("certificate", "the PEM file of this broker's certificate, and of those above it");
    let key_file = table.needed("key-file", "the PEM file of the certificate's private key");
    let client_ca = table.text("client-ca");
    let address = address(table, &text?)?;
    let secure = Secure {
        address: address.is,
        certificate: certificate?.is,
        key_file: key_file?.is,
        client_ca: client_ca.map(|text| text.is),
    };
    Some((secure, address.at))
}

fn users(table: &Table<'_>) -> Vec<User> {
    let mut users: Vec<User> = Vec::new();
    for one in table.tables("user", USERS_MAX) {
        let name = one.needed("name", "what the client calls itself, such as \"t-07\"");
        let password_file = one
            .needed("password-file", "the file with the password alone, such as \"t-07.secret\"");
        let name = name.filter(|name| is_good_name(&one, name, &users));
        let rights = rights(&one, name.as_ref().map(|name| name.is.as_str()));
        if rights == Rights::default() && !one.has("writes") && !one.has("reads") {
            let title = "this user may neither write nor read anything";
            let help = "add writes = [\"yard/tail/{user}/#\"], reads = […], or both";
            table.faults().warn(&one.place(), title, help);
        }
        one.done();
        if let (Some(name), Some(file)) = (name, password_file) {
            users.push(User { name: name.is, password_file: file.is, rights });
        }
    }
    users
}

fn is_good_name(table: &Table<'_>, name: &Placed<String>, users: &[User]) -> bool {
    let good = |c: char| c.is_ascii_alphanumeric() || "-_.@".contains(c);
    let (title, help) = if !name.is.chars().all(good) || name.is.len() > NAME_MAX {
        let title = format!("{} cannot be a client's name", name.is);
        (title, "take at most 60 letters, digits, - _ . @: it may stand for a level of a topic")
    } else if name.is == NOBODY {
        (format!("{NOBODY} is what those without a name are called"), "take another name")
    } else if users.iter().any(|user| user.name == name.is) {
        (
            format!("there are two users called {}", name.is),
            "give each its own name, or take one out",
        )
    } else {
        return true;
    };
    table.faults().refuse(&name.at, title, help);
    false
}

fn rights(table: &Table<'_>, user: Option<&str>) -> Rights {
    Rights { writes: filters(table, "writes", user), reads: filters(table, "reads", user) }
}

/// The filters of one key, with the user's name put in.
fn filters(table: &Table<'_>, key: &'static str, user: Option<&str>) -> Vec<String> {
    let written = table.texts(key);
    if let Some(beyond) = written.get(FILTERS_MAX) {
        let title = format!("{key} has more than {FILTERS_MAX} filters");
        table.faults().refuse(&beyond.at, title, "put them together with + and #");
    }
    let mut filters = Vec::new();
    for filter in written {
        let strange = topic::names(&filter.is).into_iter().find(|name| *name != "user");
        let wrong = topic::wrong(&filter.is)
            .or_else(|| strange.map(|name| format!("{{{name}}} stands for nothing here")));
        if let Some(why) = wrong {
            let title = format!("{} is not a topic filter: {why}", filter.is);
            let help = "write it like yard/tail/{user}/#, with + for any level and {user} for the user's own name";
            table.faults().refuse(&filter.at, title, help);
        } else if user.is_none() && filter.is.contains("{user}") && table.has("name") {
            // The name itself is at fault, which has been said.
        } else if user.is_none() && filter.is.contains("{user}") {
            let title = "{user} stands for a name, and nobody here has one";
            table.faults().refuse(&filter.at, title, "write + for any level");
        } else {
            filters.push(filter.is.replace("{user}", user.unwrap_or_default()));
        }
    }
    filters
}

fn limits(table: Table<'_>) -> Limits {
    let usual = Limits::default();
    let whole = |key: &'static str, usual: u64, range| {
        table.value(key).and_then(|value| value.whole(range)).unwrap_or(usual)
    };
    let connections = whole("connections", usual.connections, 1..=CONNECTIONS_MAX);
    let limits = Limits {
        connections,
        per_address: whole("per-address", usual.per_address.min(connections), 1..=connections),
        packet: whole("packet", usual.packet, PACKET_MIN..=PACKET_MAX),
        messages: whole("messages", usual.messages, 1..=MESSAGES_MAX),
        bytes: whole("bytes", usual.bytes, BYTES_MIN..=BYTES_MAX),
        failed_logins: whole("failed-logins", usual.failed_logins, 1..=FAILED_LOGINS_MAX),
    };
    table.done();
    limits
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: RFC 1918, RFC 4193, RFC 3927 and RFC 4291 for what is inside; 192.0.2.0/24 and
    /// 2001:db8::/32 are documentation addresses (RFC 5737, RFC 3849) and stand for the world.
    #[test]
    fn it_listens_only_where_strangers_do_not_come_or_must_show_who_they_are() {
        let may = |text: &str, tls, asks| may_listen(text.parse().unwrap(), tls, asks).is_ok();
        for inside in [
            "127.0.0.1:1883",
            "[::1]:1883",
            "192.168.1.20:1883",
            "10.0.0.2:1883",
            "172.16.9.9:1883",
            "169.254.7.7:1883",
            "[fd00::20]:1883",
            "[fe80::20]:1883",
        ] {
            assert!(may(inside, false, false), "{inside}");
        }
        for every in ["0.0.0.0:1883", "[::]:1883"] {
            assert!(!may(every, false, false), "{every}");
            assert!(may(every, true, false) && may(every, false, true), "{every}");
        }
        for outside in ["192.0.2.7:1883", "[2001:db8::7]:1883", "172.32.0.1:1883"] {
            assert!(!may(outside, true, false) && !may(outside, false, true), "{outside}");
            assert!(may(outside, true, true), "{outside}");
        }
    }

    #[test]
    fn an_address_of_four_numbers_dressed_as_six_is_judged_by_its_numbers() {
        // RFC 4291 section 2.5.5.2: how a socket for all addresses shows a peer with IPv4.
        assert!(is_inside("::ffff:192.168.1.20".parse().unwrap()));
        assert!(!is_inside("::ffff:192.0.2.7".parse().unwrap()));
    }
}
