//! Which person of the farm words come from, by the address, the number or the name that they came with.

use super::letter::Sender;
use super::{address, telephone};
use crate::config::Config;
use crate::plain::ids::PersonName;

pub fn of<'c>(config: &'c Config, from: &Sender) -> Option<&'c PersonName> {
    match from {
        Sender::Mail(address) => by_mail(config, address),
        Sender::Mobile(number) => by_mobile(config, number),
        Sender::Name(name) => by_name(config, name),
    }
}

/// The person who writes from this mail address.
pub fn by_mail<'c>(config: &'c Config, address: &str) -> Option<&'c PersonName> {
    let same = |mail: &str| address::same_mail(mail, address);
    let mut people = config.people.iter();
    let found = people.find(|person| person.mail.as_deref().is_some_and(same));
    found.map(|person| &person.name)
}

pub fn by_mobile<'c>(config: &'c Config, number: &str) -> Option<&'c PersonName> {
    let country = &config.farm.country;
    let number = telephone::normal_mobile(number, country)?;
    let same = |mobile: &str| telephone::normal_mobile(mobile, country) == Some(number.clone());
    let mut people = config.people.iter();
    let found = people.find(|person| person.mobile.as_deref().is_some_and(same));
    found.map(|person| &person.name)
}

pub fn by_name<'c>(config: &'c Config, name: &str) -> Option<&'c PersonName> {
    let mut names = config.people.iter().map(|person| &person.name);
    names.find(|person| person.as_str().eq_ignore_ascii_case(name.trim()))
}

/// How words came in, as a log may say it: the address or the number is masked.
pub fn proof(from: &Sender) -> String {
    use crate::plain::masked;
    match from {
        Sender::Mail(address) => format!("by mail from {}", masked::text(address)),
        Sender::Mobile(number) => format!("by text from {}", masked::text(number)),
        Sender::Name(_) => "said at this machine or on the farm's broker, by name alone".to_owned(),
    }
}
