//! Reads `[broker]`: where the sensors' messages come from.

use super::address;
use super::built_in;
use super::farm::{Broker, BrokerWay, MqttVersion};
use super::faults::Placed;
use super::topic;
use super::tree::Table;
use super::voice;
use crate::plain::moment::Span;

/// Ids of at most so many bytes every broker must take (MQTT 5, 3.1.3-5).
const CLIENT_ID_SURE: usize = 23;

/// The longest text MQTT can carry.
const CLIENT_ID_MAX: usize = 65_535;

/// Outside this range the number was meant in another unit (needs.md N24).
const KEEP_ALIVE_MIN: Span = Span::seconds(5);
const KEEP_ALIVE_MAX: Span = Span::seconds(300);

/// What waits longer for its commit is lost to a power cut once too often.
const GROUP_MAX: Span = Span::seconds(60);

const ANSWERS: &str = "lowbell/answer/{person}";

/// `[broker]`; `None` if it says neither where the broker is nor that we are it.
pub(super) fn read(table: Table<'_>, farm: &str) -> Option<Broker> {
    let way = way(&table);
    let version =
        table.word("version", &[("5", MqttVersion::Five), ("3.1.1", MqttVersion::ThreeOneOne)]);
    // Of a broker of our own these keys mean something else, and have been read.
    let elsewhere = !is_ours(&table);
    let user = elsewhere.then(|| table.text("user")).flatten();
    let password_file = elsewhere.then(|| table.text("password-file")).flatten();
    if let (None, Some(password)) = (&user, &password_file) {
        let help = "add user = \"…\", or take password-file out";
        table.faults().refuse(&password.at, "a password needs a user", help);
    }
    let ca = table.text("ca");
    let is_plain = !matches!(way, Some(BrokerWay::Url { tls: true, .. }) | None);
    if let Some(ca) = ca.as_ref().filter(|_| is_plain) {
        let help = "write mqtts:// in url, or take ca out";
        let title = "ca says whom to trust, but this connection is not encrypted";
        table.faults().warn(&ca.at, title, help);
    }
    let identity = voice::identity(&table, way.as_ref());
    let voice = voice::read(&table, way.as_ref());
    let client_id = client_id(&table).unwrap_or_else(|| client_id_of(farm));
    let keep_alive = table.span("keep-alive", Span::seconds(30), KEEP_ALIVE_MIN..=KEEP_ALIVE_MAX);
    let answers = answers(&table);
    let group = table.span("group", Span::seconds(20), Span::ZERO..=GROUP_MAX);
    table.done();
    Some(Broker {
        way: way?,
        version: version.map_or(MqttVersion::Five, |version| version.is),
        user: user.map(|text| text.is),
        password_file: password_file.map(|text| text.is),
        ca: ca.map(|text| text.is),
        identity,
        client_id,
        keep_alive,
        answers: Some(answers),
        group,
        voice,
    })
}

fn is_ours(table: &Table<'_>) -> bool {
    !table.has("url") && (table.has("built-in") || table.has("built-in-tls"))
}

fn way(table: &Table<'_>) -> Option<BrokerWay> {
    if is_ours(table) {
        return built_in::read(table).map(|built_in| BrokerWay::BuiltIn(Box::new(built_in)));
    }
    if table.has("url") {
        built_in::out_of_place(table);
    }
    let (url, built_in) = (table.text("url"), table.text("built-in"));
    match (url, built_in) {
        (Some(url), None) => by_url(table, &url),
        (Some(_), Some(built_in)) => {
            let help = "keep url to use a broker, or built-in to be one";
            let title = "built-in does not go with url";
            table.faults().refuse(&built_in.at, title, help);
            None
        }
        (None, _) if table.has("url") => None,
        (None, _) => {
            let help = "write url = \"mqtt://127.0.0.1:1883\", or built-in = \"127.0.0.1:1883\" to be the broker";
            table.missing("url", help);
            None
        }
    }
}

fn by_url(table: &Table<'_>, url: &Placed<String>) -> Option<BrokerWay> {
    let example = "write it like mqtt://127.0.0.1:1883, or mqtts:// for TLS; user and password-file are keys of their own";
    let refuse = |why: &str| {
        let title = format!("{} is not a broker's address: {why}", url.is);
        table.faults().refuse(&url.at, title, example);
        None
    };
    let address = match address::parse(&url.is) {
        Ok(address) => address,
        Err(why) => return refuse(&why),
    };
    let tls = match address.scheme.as_str() {
        "mqtt" => false,
        "mqtts" => true,
        other => return refuse(&format!("{other}:// is not spoken here")),
    };
    if !matches!(address.path.as_str(), "" | "/") {
        return refuse("nothing may follow the port");
    }
    Some(BrokerWay::Url {
        host: address.host,
        port: address.port.unwrap_or(if tls { 8883 } else { 1883 }),
        tls,
    })
}

fn client_id(table: &Table<'_>) -> Option<String> {
    let id = table.text("client-id")?;
    if id.is.len() > CLIENT_ID_MAX {
        let help = format!("take at most {CLIENT_ID_SURE} letters and digits");
        table.faults().refuse(&id.at, "client-id is longer than MQTT can carry", help);
    } else if id.is.len() > CLIENT_ID_SURE {
        let title = format!("client-id is longer than {CLIENT_ID_SURE} bytes");
        table.faults().warn(&id.at, title, "a broker may refuse it (MQTT 5, 3.1.3-5)");
    }
    Some(id.is)
}

fn client_id_of(farm: &str) -> String {
    let farm = farm.to_lowercase();
    let letters = farm.chars().filter(char::is_ascii_alphanumeric);
    "lowbell-".chars().chain(letters).take(CLIENT_ID_SURE).collect()
}

fn answers(table: &Table<'_>) -> String {
    let Some(filter) = table.text("answers") else {
        return ANSWERS.to_owned();
    };
    let wrong = topic::wrong(&filter.is).or_else(|| {
        let names = topic::names(&filter.is);
        (!names.contains(&"person")).then(|| "no level {person} says who speaks".to_owned())
    });
    if let Some(why) = wrong {
        let title = format!("{} is not a topic for answers: {why}", filter.is);
        let help = format!("write it like {ANSWERS}");
        table.faults().refuse(&filter.at, title, help);
    }
    filter.is
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_client_id_is_made_of_the_farms_name() {
        assert_eq!(client_id_of("Hollow Bank"), "lowbell-hollowbank");
        let long = client_id_of("The Farm Above the Hollow Bank");
        assert_eq!((long.as_str(), long.len()), ("lowbell-thefarmabovethe", 23));
        assert_eq!(client_id_of("Ферма"), "lowbell-");
    }
}
