//! Which topics a filter means, and what each `{name}` in it stands for.
//!
//! Matching is MQTT 5 section 4.7 to the letter; a `{name}` is a `+` that keeps what it matched. A
//! match borrows from the filter and the topic and allocates nothing: it runs for every packet.
//! It refuses shared subscriptions, since a farm's watch must hear every message.

use std::fmt;

/// The longest filter or topic MQTT can carry (MQTT 5, section 4.7.3): its length is a 16-bit count.
const LENGTH_MAX: usize = 65_535;

/// A filter as the settings write it, such as `yard/tail/{device}/state`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Filter {
    written: Box<str>,
    levels: Box<[Level]>,
    /// The levels before the first wildcard: nearly every topic that is not ours fails here.
    fixed: Box<str>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Level {
    Exact(Box<str>),
    /// `+`, or `{name}`.
    One(Option<Box<str>>),
    /// `#`: this level's parent and everything below it.
    Rest,
}

/// What each `{name}` of a filter matched in one topic.
#[derive(Clone, Copy, Debug)]
pub struct Names<'a> {
    filter: &'a Filter,
    topic: &'a str,
}

/// Why a text is not a filter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FilterFault {
    Empty,
    TooLong,
    Nul,
    /// `#` anywhere but alone at the end.
    HashNotLast,
    /// `+` with other characters in its level.
    PlusInLevel,
    /// A brace in a level that is not `{name}` and nothing else.
    BraceInLevel {
        level: String,
    },
    /// The name between braces is empty, or has characters other than letters, digits, `-`, `_`.
    OddName {
        name: String,
    },
    NameTwice {
        name: String,
    },
    Shared,
}

impl Filter {
    pub fn parse(text: &str) -> Result<Self, FilterFault> {
        if text.is_empty() {
            return Err(FilterFault::Empty);
        }
        if text.contains('\0') {
            return Err(FilterFault::Nul);
        }
        let mut levels: Vec<Level> = Vec::new();
        for part in text.split('/') {
            if levels.last() == Some(&Level::Rest) {
                return Err(FilterFault::HashNotLast);
            }
            let level = Level::parse(part)?;
            if let Level::One(Some(name)) = &level
                && levels.contains(&level)
            {
                return Err(FilterFault::NameTwice { name: name.to_string() });
            }
            levels.push(level);
        }
        if levels.len() > 2 && levels[0] == Level::Exact("$share".into()) {
            return Err(FilterFault::Shared);
        }
        let fixed: Vec<&str> = levels.iter().map_while(Level::exact).collect();
        let filter =
            Self { written: text.into(), fixed: fixed.join("/").into(), levels: levels.into() };
        if filter.mqtt().len() > LENGTH_MAX {
            return Err(FilterFault::TooLong);
        }
        Ok(filter)
    }

    /// The filter as a broker wants it: `+` for each `{name}`.
    pub fn mqtt(&self) -> String {
        let levels: Vec<&str> = self
            .levels
            .iter()
            .map(|level| match level {
                Level::Exact(text) => text,
                Level::One(_) => "+",
                Level::Rest => "#",
            })
            .collect();
        levels.join("/")
    }

    /// As the settings write it.
    pub fn written(&self) -> &str {
        &self.written
    }

    pub fn has(&self, name: &str) -> bool {
        self.place_of(name).is_some()
    }

    /// `None` if the topic is not meant, or is no topic name at all.
    pub fn matches<'a>(&'a self, topic: &'a str) -> Option<Names<'a>> {
        if !topic.starts_with(&*self.fixed) || !is_topic_name(topic) {
            return None;
        }
        // A wildcard in the first level never reaches the broker's own topics.
        if topic.starts_with('$') && self.levels.first().and_then(Level::exact).is_none() {
            return None;
        }
        let names = Names { filter: self, topic };
        let mut parts = topic.split('/');
        for level in &self.levels {
            match level {
                Level::Rest => return Some(names),
                Level::One(_) => {
                    parts.next()?;
                }
                Level::Exact(text) => {
                    if parts.next()? != &**text {
                        return None;
                    }
                }
            }
        }
        parts.next().is_none().then_some(names)
    }

    /// Whether every topic that `other` means is meant by this one too.
    pub fn covers(&self, other: &Self) -> bool {
        let brokers_own = |level: &Level| level.exact().is_some_and(|text| text.starts_with('$'));
        if self.levels[0].exact().is_none() && brokers_own(&other.levels[0]) {
            return false;
        }
        let (mut wide, mut narrow) = (self.levels.iter(), other.levels.iter().peekable());
        // No topic is empty: `#` alone means what `+/#` means, and `/#` what `/+/#` means.
        let never_alone = match &*other.levels {
            [Level::Rest] => 0,
            [Level::Exact(text), Level::Rest] if text.is_empty() => 1,
            _ => usize::MAX,
        };
        for place in 0.. {
            match (wide.next(), narrow.peek()) {
                (Some(Level::Rest), _) | (None, None) => return true,
                (Some(Level::One(_)), Some(Level::Rest)) if place == never_alone => {}
                (Some(Level::One(_)), Some(Level::One(_) | Level::Exact(_))) => {
                    narrow.next();
                }
                (Some(Level::Exact(one)), Some(Level::Exact(other))) if one == other => {
                    narrow.next();
                }
                (Some(Level::One(_) | Level::Exact(_)) | None, _) => return false,
            }
        }
        false
    }

    fn place_of(&self, name: &str) -> Option<usize> {
        self.levels.iter().position(|level| level.name() == Some(name))
    }
}

/// The filters among these that are covered by no other: with the rest asked for too, a broker may
/// send one message once for each (MQTT 5, 3.3.4-2). Of two that mean the same, the first stays.
pub fn widest(filters: &[Filter]) -> Vec<&Filter> {
    let mut kept: Vec<&Filter> = Vec::new();
    for filter in filters {
        if !kept.iter().any(|wide| wide.covers(filter)) {
            kept.retain(|narrow| !filter.covers(narrow));
            kept.push(filter);
        }
    }
    kept
}

/// A name as one level of a topic to publish to: what a level cannot hold (MQTT 5, 4.7) stands there
/// as `%` and two hexadecimal digits, and so does `%` itself.
pub fn one_level(name: &str) -> String {
    let mut level = String::with_capacity(name.len());
    for character in name.chars() {
        if matches!(character, '/' | '+' | '#' | '%') || character.is_control() {
            let mut bytes = [0; 4];
            for byte in character.encode_utf8(&mut bytes).bytes() {
                level.push_str(&format!("%{byte:02X}"));
            }
        } else {
            level.push(character);
        }
    }
    level
}

impl fmt::Display for Filter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written)
    }
}

impl<'a> Names<'a> {
    /// What `{name}` matched, which may be empty; `None` if the filter has no such name.
    pub fn get(&self, name: &str) -> Option<&'a str> {
        // `#` comes last, so a level has the same place in the filter and in the topic.
        self.topic.split('/').nth(self.filter.place_of(name)?)
    }

    pub fn topic(&self) -> &'a str {
        self.topic
    }
}

impl Level {
    fn parse(part: &str) -> Result<Self, FilterFault> {
        match part {
            "#" => return Ok(Self::Rest),
            "+" => return Ok(Self::One(None)),
            _ if part.contains('#') => return Err(FilterFault::HashNotLast),
            _ if part.contains('+') => return Err(FilterFault::PlusInLevel),
            _ if !part.contains(['{', '}']) => return Ok(Self::Exact(part.into())),
            _ => {}
        }
        let name = part
            .strip_prefix('{')
            .and_then(|rest| rest.strip_suffix('}'))
            .filter(|name| !name.contains(['{', '}']))
            .ok_or_else(|| FilterFault::BraceInLevel { level: part.to_owned() })?;
        let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
        if name.is_empty() || !name.chars().all(plain) {
            return Err(FilterFault::OddName { name: name.to_owned() });
        }
        Ok(Self::One(Some(name.into())))
    }

    fn exact(&self) -> Option<&str> {
        match self {
            Self::Exact(text) => Some(text),
            Self::One(_) | Self::Rest => None,
        }
    }

    fn name(&self) -> Option<&str> {
        match self {
            Self::One(name) => name.as_deref(),
            Self::Exact(_) | Self::Rest => None,
        }
    }
}

impl std::error::Error for FilterFault {}

impl fmt::Display for FilterFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => f.write_str("a topic filter needs at least one character"),
            Self::TooLong => write!(f, "a topic filter has at most {LENGTH_MAX} bytes"),
            Self::Nul => f.write_str("a topic filter cannot hold a NUL character"),
            Self::HashNotLast => {
                f.write_str("`#` stands alone in the last level: write `yard/#`, not `yard#`")
            }
            Self::PlusInLevel => {
                f.write_str("`+` stands alone in its level: write `yard/+/state`, not `yard+/state`")
            }
            Self::BraceInLevel { level } => write!(
                f,
                "`{level}` mixes a name in braces with other characters; `{{name}}` stands alone in its level"
            ),
            Self::OddName { name } => write!(
                f,
                "`{{{name}}}` is no name: use letters, digits, `-` and `_` between the braces"
            ),
            Self::NameTwice { name } => write!(
                f,
                "`{{{name}}}` stands twice in one filter; keep one and write `+` for the other"
            ),
            Self::Shared => f.write_str(
                "`$share/` hands some messages to other readers, and the watch must hear them all; leave out `$share/` and the group's name",
            ),
        }
    }
}

/// What a broker may send: at least one character, no wildcard, no NUL (MQTT 5, 4.7.1 and 4.7.3).
fn is_topic_name(topic: &str) -> bool {
    !topic.is_empty()
        && topic.len() <= LENGTH_MAX
        && !topic.bytes().any(|b| matches!(b, b'+' | b'#' | 0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn filters_match_as_section_4_7_says() {
        // MQTT 5 (OASIS) section 4.7; rows TF-01 to TF-22 of the project's standards notes.
        for (row, filter, topic, expected) in [
            (1, "sport/tennis/player1/#", "sport/tennis/player1", true),
            (2, "sport/tennis/player1/#", "sport/tennis/player1/ranking", true),
            (3, "sport/tennis/player1/#", "sport/tennis/player1/score/wimbledon", true),
            (4, "sport/#", "sport", true),
            (5, "sport/tennis/+", "sport/tennis/player1", true),
            (6, "sport/tennis/+", "sport/tennis/player2", true),
            (7, "sport/tennis/+", "sport/tennis/player1/ranking", false),
            (8, "sport/+", "sport", false),
            (9, "sport/+", "sport/", true),
            (10, "+", "/finance", false),
            (11, "+/+", "/finance", true),
            (12, "/+", "/finance", true),
            (13, "#", "$SYS/monitor/Clients", false),
            (14, "+/monitor/Clients", "$SYS/monitor/Clients", false),
            (15, "$SYS/#", "$SYS/monitor/Clients", true),
            (16, "$SYS/monitor/+", "$SYS/monitor/Clients", true),
            (17, "Accounts", "ACCOUNTS", false),
            (18, "/finance", "finance", false),
            (19, "+/tennis/#", "sport/tennis", true),
            (20, "#", "/", true),
            (21, "a/+/c", "a//c", true),
            (22, "a/+", "a/$b", true),
        ] {
            let parsed = Filter::parse(filter).unwrap();
            assert_eq!(parsed.mqtt(), filter, "TF-{row:02}");
            assert_eq!(
                parsed.matches(topic).is_some(),
                expected,
                "TF-{row:02}: {filter} on {topic}"
            );
        }
    }

    #[test]
    fn filters_are_valid_or_not_as_section_4_7_1_says() {
        // MQTT 5 (OASIS) section 4.7.1 and 4.7.3 (the empty filter).
        for valid in ["+", "#", "sport/#", "+/tennis/#", "sport/+/player1", "/", "a/+/+"] {
            assert!(Filter::parse(valid).is_ok(), "{valid}");
        }
        for (invalid, fault) in [
            ("sport/tennis#", FilterFault::HashNotLast),
            ("sport/tennis/#/ranking", FilterFault::HashNotLast),
            ("sport+", FilterFault::PlusInLevel),
            ("+sport", FilterFault::PlusInLevel),
            ("#/a", FilterFault::HashNotLast),
            ("", FilterFault::Empty),
        ] {
            assert_eq!(Filter::parse(invalid), Err(fault), "{invalid}");
        }
    }

    #[test]
    fn lengths_and_nul_are_as_section_4_7_3_says() {
        // MQTT 5 (OASIS) section 4.7.3.
        let longest = "a".repeat(LENGTH_MAX);
        let filter = Filter::parse(&longest).unwrap();
        assert!(filter.matches(&longest).is_some());
        let longer = "a".repeat(LENGTH_MAX + 1);
        assert_eq!(Filter::parse(&longer), Err(FilterFault::TooLong));
        assert!(Filter::parse("#").unwrap().matches(&longer).is_none());
        assert_eq!(Filter::parse("a\0b"), Err(FilterFault::Nul));
        assert!(Filter::parse("#").unwrap().matches("a\0b").is_none());
    }

    #[test]
    fn a_topic_with_a_wildcard_in_it_is_no_topic() {
        // MQTT 5 (OASIS) section 4.7.1: wildcards are for filters, never for topic names.
        let all = Filter::parse("#").unwrap();
        for topic in ["", "yard/+/state", "yard/#", "a+b"] {
            assert!(all.matches(topic).is_none(), "{topic}");
        }
    }

    #[test]
    fn a_name_gives_what_its_level_matched() {
        let filter = Filter::parse("yard/{place}/{device}/#").unwrap();
        assert_eq!(filter.mqtt(), "yard/+/+/#");
        assert_eq!(filter.to_string(), "yard/{place}/{device}/#");
        assert!(filter.has("device") && !filter.has("person"));
        let names = filter.matches("yard/home field/t-07/state").unwrap();
        assert_eq!(names.get("place"), Some("home field"));
        assert_eq!(names.get("device"), Some("t-07"));
        assert_eq!(names.get("person"), None);
        assert_eq!(names.topic(), "yard/home field/t-07/state");
        let parent = filter.matches("yard//").unwrap();
        assert_eq!(parent.get("device"), Some(""));
    }

    #[test]
    fn a_name_in_the_first_level_never_reaches_the_brokers_own_topics() {
        let filter = Filter::parse("{device}/uptime").unwrap();
        assert!(filter.matches("$SYS/uptime").is_none());
        assert!(filter.matches("t-07/uptime").is_some());
    }

    #[test]
    fn a_name_that_cannot_be_one_says_what_to_write() {
        for (text, says) in [
            (
                "yard/tail-{device}/state",
                "`tail-{device}` mixes a name in braces with other characters; `{name}` stands alone in its level",
            ),
            (
                "yard/{a}{b}",
                "`{a}{b}` mixes a name in braces with other characters; `{name}` stands alone in its level",
            ),
            ("yard/{}", "`{}` is no name: use letters, digits, `-` and `_` between the braces"),
            (
                "yard/{my device}",
                "`{my device}` is no name: use letters, digits, `-` and `_` between the braces",
            ),
            (
                "{device}/{device}",
                "`{device}` stands twice in one filter; keep one and write `+` for the other",
            ),
            (
                "$share/night/yard/#",
                "`$share/` hands some messages to other readers, and the watch must hear them all; leave out `$share/` and the group's name",
            ),
        ] {
            assert_eq!(Filter::parse(text).unwrap_err().to_string(), says);
        }
    }

    fn level() -> impl Strategy<Value = &'static str> {
        prop::sample::select(vec!["a", "b", "", "$x", "+", "{one}", "ab"])
    }

    /// Every topic of up to four levels over a small alphabet; `z` is in no filter.
    fn all_topics() -> Vec<String> {
        let alphabet = ["a", "b", "", "$x", "z"];
        let mut topics: Vec<String> = alphabet.iter().map(|level| (*level).to_owned()).collect();
        let mut last = topics.clone();
        for _ in 1..4 {
            last = last
                .iter()
                .flat_map(|topic| alphabet.iter().map(move |level| format!("{topic}/{level}")))
                .collect();
            topics.extend(last.iter().cloned());
        }
        topics
    }

    /// Every filter of up to three levels over a small alphabet.
    fn all_filters() -> Vec<Filter> {
        let alphabet = ["a", "b", "", "$x", "+", "#"];
        let mut texts: Vec<String> = alphabet.iter().map(|level| (*level).to_owned()).collect();
        let mut last = texts.clone();
        for _ in 1..3 {
            last = last
                .iter()
                .flat_map(|text| alphabet.iter().map(move |level| format!("{text}/{level}")))
                .collect();
            texts.extend(last.iter().cloned());
        }
        texts.iter().filter_map(|text| Filter::parse(text).ok()).collect()
    }

    #[test]
    fn one_filter_covers_another_exactly_where_every_topic_says_so() {
        let (topics, filters) = (all_topics(), all_filters());
        assert!(filters.len() > 100 && topics.len() == 780);
        let meant: Vec<Vec<bool>> = filters
            .iter()
            .map(|filter| topics.iter().map(|topic| filter.matches(topic).is_some()).collect())
            .collect();
        let mut covered = 0;
        for (wide, by_wide) in filters.iter().zip(&meant) {
            for (narrow, by_narrow) in filters.iter().zip(&meant) {
                let expected = by_narrow.iter().zip(by_wide).all(|(narrow, wide)| !narrow || *wide);
                assert_eq!(wide.covers(narrow), expected, "{wide} over {narrow}");
                covered += usize::from(expected);
            }
        }
        assert!(covered > filters.len(), "more than each itself");
    }

    #[test]
    fn only_the_widest_filters_are_left() {
        let parse = |text: &str| Filter::parse(text).unwrap();
        let all = ["yard/{device}/state", "yard/#", "yard/+/state", "barn/+/a", "barn/b/+"];
        let all: Vec<Filter> = all.iter().map(|text| parse(text)).collect();
        let left: Vec<&str> = widest(&all).into_iter().map(Filter::written).collect();
        assert_eq!(left, ["yard/#", "barn/+/a", "barn/b/+"], "those that only overlap stay");
        let same = [parse("+/{device}"), parse("+/+"), parse("#"), parse("+/#")];
        assert_eq!(widest(&same), [&same[2]]);
    }

    #[test]
    fn a_name_becomes_one_level_and_no_two_names_the_same() {
        for (name, expected) in [
            ("114", "114"),
            ("Bläss", "Bläss"),
            ("a/b+c#d", "a%2Fb%2Bc%23d"),
            ("50%", "50%25"),
            ("a\0b", "a%00b"),
            ("$x", "$x"),
        ] {
            assert_eq!(one_level(name), expected, "{name:?}");
        }
        assert_ne!(one_level("a%2Fb"), one_level("a/b"));
    }

    proptest! {
        #[test]
        fn any_name_makes_a_topic_of_one_level(name in any::<String>()) {
            let topic = format!("lowbell/dam/{}/stage", one_level(&name));
            let filter = Filter::parse("lowbell/dam/{animal}/stage").unwrap();
            prop_assert!(filter.matches(&topic).is_some(), "{}", topic);
        }

        #[test]
        fn what_a_filter_means_is_still_meant_by_the_widest(
            texts in prop::collection::vec(
                prop::collection::vec(prop::sample::select(vec!["a", "b", "", "+"]), 1..4), 1..6),
            rest in prop::collection::vec(any::<bool>(), 6),
            topic in prop::collection::vec(prop::sample::select(vec!["a", "b", ""]), 1..5),
        ) {
            let filters: Vec<Filter> = texts
                .iter()
                .zip(rest)
                .map(|(levels, rest)| levels.join("/") + if rest { "/#" } else { "" })
                .filter_map(|text| Filter::parse(&text).ok())
                .collect();
            let topic = topic.join("/");
            let left = widest(&filters);
            let before = filters.iter().any(|filter| filter.matches(&topic).is_some());
            let after = left.iter().any(|filter| filter.matches(&topic).is_some());
            prop_assert_eq!(before, after);
            for one in &left {
                prop_assert!(left.iter().all(|other| one == other || !one.covers(other)));
            }
        }

        #[test]
        fn the_matcher_agrees_with_a_naive_one(
            mut levels in prop::collection::vec(level(), 1..5),
            rest in any::<bool>(),
            topic in prop::collection::vec(
                prop::sample::select(vec!["a", "b", "", "$x", "ab"]), 1..6),
        ) {
            if rest {
                levels.push("#");
            }
            let (text, topic) = (levels.join("/"), topic.join("/"));
            if let Ok(filter) = Filter::parse(&text) {
                let expected = !topic.is_empty() && naive(&filter.mqtt(), &topic);
                prop_assert_eq!(filter.matches(&topic).is_some(), expected, "{} on {}", text, topic);
            }
        }

        #[test]
        fn no_filter_and_no_topic_makes_it_panic(text in "\\PC*|[a+#/{}$\0]*", topic in any::<String>()) {
            if let Ok(filter) = Filter::parse(&text) {
                prop_assert_eq!(filter.written(), &text);
                prop_assert!(Filter::parse(&filter.mqtt()).is_ok());
                if let Some(names) = filter.matches(&topic) {
                    prop_assert_eq!(names.topic(), &topic);
                    prop_assert!(names.get("no such name").is_none());
                }
            }
        }
    }

    /// Written from the text of section 4.7, one level at a time and by recursion.
    fn naive(filter: &str, topic: &str) -> bool {
        fn levels(filter: &[&str], topic: &[&str]) -> bool {
            match (filter, topic) {
                ([], []) | (["#"], _) => true,
                ([], _) | (_, []) => false,
                ([first, filter @ ..], [level, topic @ ..]) => {
                    (*first == "+" || first == level) && levels(filter, topic)
                }
            }
        }
        let filter: Vec<&str> = filter.split('/').collect();
        let wild = filter[0] == "+" || filter[0] == "#";
        let topic: Vec<&str> = topic.split('/').collect();
        !(wild && topic[0].starts_with('$')) && levels(&filter, &topic)
    }
}
