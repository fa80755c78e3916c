//! Whether a topic filter is one (MQTT 5, section 4.7), with `{name}` standing for a whole level.
//!
//! It matches nothing; that is the sensors' business.

/// The longest filter MQTT can carry (MQTT 5, 4.7.3-3).
const LENGTH_MAX: usize = 65_535;

/// What is wrong with a filter, if anything is.
pub(super) fn wrong(filter: &str) -> Option<String> {
    if filter.is_empty() {
        return Some("it is empty".to_owned());
    }
    if filter.len() > LENGTH_MAX || filter.contains('\0') {
        return Some("MQTT cannot carry it".to_owned());
    }
    if filter.starts_with("$share/") {
        return Some("a shared subscription would give us only some of the messages".to_owned());
    }
    let levels: Vec<&str> = filter.split('/').collect();
    let names = names(filter);
    for (n, level) in levels.iter().enumerate() {
        if *level == "#" && n + 1 < levels.len() {
            return Some("# may only be the last level".to_owned());
        }
        if level.len() > 1 && level.contains(['+', '#']) {
            return Some(format!("+ and # stand for a whole level, not within {level}"));
        }
        if level.contains(['{', '}']) && name_of(level).is_none() {
            return Some(format!(
                "a name such as {{device}} stands for a whole level, not within {level}"
            ));
        }
    }
    let twice = names.iter().enumerate().find(|(n, name)| names[..*n].contains(name));
    twice.map(|(_, name)| format!("{{{name}}} is in it twice"))
}

/// The names of its named levels.
pub(super) fn names(filter: &str) -> Vec<&str> {
    filter.split('/').filter_map(name_of).collect()
}

/// Whether a filter means a topic (MQTT 5, section 4.7.1): a name stands for any one level, as + does.
pub(super) fn means(filter: &str, topic: &str) -> bool {
    let mut levels = topic.split('/');
    for wanted in filter.split('/') {
        if wanted == "#" {
            return true;
        }
        let Some(level) = levels.next() else { return false };
        if wanted != "+" && name_of(wanted).is_none() && wanted != level {
            return false;
        }
    }
    levels.next().is_none()
}

fn name_of(level: &str) -> Option<&str> {
    let name = level.strip_prefix('{')?.strip_suffix('}')?;
    let good = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    (!name.is_empty() && name.chars().all(good)).then_some(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: OASIS MQTT 5.0 section 4.7.1, its own valid and invalid filters (standards.md TF).
    #[test]
    fn filters_are_judged_as_the_standard_judges_them() {
        for good in ["+", "#", "sport/#", "+/tennis/#", "sport/+/player1", "/", "a/+/+"] {
            assert_eq!(wrong(good), None, "{good}");
        }
        for bad in ["sport/tennis#", "sport/tennis/#/ranking", "sport+", "+sport", "#/a", ""] {
            assert!(wrong(bad).is_some(), "{bad}");
        }
    }

    /// Source: OASIS MQTT 5.0 sections 4.7.1.2 and 4.7.1.3, their own examples (standards.md TF).
    #[test]
    fn a_filter_means_what_the_standard_says() {
        for (filter, topic, meant) in [
            ("sport/tennis/player1/#", "sport/tennis/player1", true),
            ("sport/tennis/player1/#", "sport/tennis/player1/score/wimbledon", true),
            ("sport/tennis/+", "sport/tennis/player1", true),
            ("sport/tennis/+", "sport/tennis/player1/ranking", false),
            ("sport/+", "sport", false),
            ("sport/+", "sport/", true),
            ("yard/{device}/jpeg", "yard/cam-1/jpeg", true),
            ("yard/{device}", "yard/cam-1/jpeg", false),
        ] {
            assert_eq!(means(filter, topic), meant, "{filter} {topic}");
        }
    }

    #[test]
    fn a_name_stands_for_a_whole_level() {
        assert_eq!(wrong("yard/tail/{device}/state"), None);
        assert_eq!(names("yard/{shed}/{device}"), ["shed", "device"]);
        for bad in [
            "yard/t-{device}",
            "yard/{}",
            "yard/{de vice}",
            "{device",
            "{device}/{device}",
            "$share/night/yard/{device}",
            "a\0b",
        ] {
            assert!(wrong(bad).is_some(), "{bad}");
        }
    }
}
