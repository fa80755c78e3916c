//! Where the sources of a limit do not agree: a table of our own, for people to read beside the rules.
//!
//! It changes no limit and raises nothing.

use serde::Deserialize;

use super::rules::Condition;

const TEXT: &str = include_str!("../../config/rules/disagreements.toml");

#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Disagreement {
    /// What they do not agree about.
    pub about: String,
    /// The clocks it concerns: begun by one of these …
    #[serde(default)]
    pub starts: Vec<String>,
    /// … and stopped by one of these.
    #[serde(default)]
    pub stops: Vec<String>,
    /// Or the signs whose amounts it concerns.
    #[serde(default)]
    pub measures: Vec<String>,
    pub says: Vec<Says>,
}

#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Says {
    pub limit: String,
    pub source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    disagreement: Vec<Disagreement>,
}

/// All that is known; a test holds that the table can be read.
pub fn disagreements() -> Vec<Disagreement> {
    toml::from_str::<Table>(TEXT).map(|table| table.disagreement).unwrap_or_default()
}

impl Disagreement {
    pub fn concerns(&self, condition: &Condition) -> bool {
        let any =
            |ours: &[String], theirs: &[String]| ours.iter().any(|word| theirs.contains(word));
        match condition {
            Condition::Clock { since, until, .. } => {
                any(&self.starts, since) && any(&self.stops, until)
            }
            Condition::Level(level) => self.measures.contains(&level.sign),
            Condition::Change(change) => self.measures.contains(&change.sign),
            Condition::All(conditions) | Condition::AnyOf(conditions) => {
                conditions.iter().any(|condition| self.concerns(condition))
            }
            Condition::Not(condition) => self.concerns(condition),
            Condition::Count { .. }
            | Condition::Seen(_)
            | Condition::Due(_)
            | Condition::Silent { .. }
            | Condition::Ill { .. }
            | Condition::Gateway { .. }
            | Condition::Unwatched { .. }
            | Condition::Alone { .. }
            | Condition::Uncovered { .. }
            | Condition::Drill { .. }
            | Condition::Trouble { .. } => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The rows of the facts file that set sources against each other, and where they do so.
    #[test]
    fn every_row_where_sources_differ_is_in_the_table() {
        let table = disagreements();
        assert!(!table.is_empty(), "the table cannot be read");
        let sources: Vec<&str> =
            table.iter().flat_map(|one| &one.says).map(|says| says.source.as_str()).collect();
        for id in [
            "S1-05", "S2-34", "S2-03", "S2-08", "S2-05", "S2-13", "S2-14", "S2-15", "S2-18",
            "S3-03", "S3-04", "M-06", "C-02", "C-05", "I-01", "I-05", "I-14",
        ] {
            assert!(sources.iter().any(|source| source.contains(id)), "{id} is not said");
        }
        for one in &table {
            assert!(one.says.len() > 1, "{}: one source alone does not differ", one.about);
            let words = one.starts.iter().chain(&one.stops);
            for word in words {
                let known = super::super::words::MARKS.contains(&word.as_str())
                    || super::super::words::STAGES.contains(&word.as_str());
                assert!(known, "{}: {word} is no mark and no stage", one.about);
            }
            assert_eq!(one.starts.is_empty(), one.stops.is_empty(), "{}", one.about);
        }
    }
}
