//! Which devices hang on which gateway, and which gateway on which: the branches of the way to us.

use crate::plain::ids::{DeviceId, GatewayName};

/// `[[chain]]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gateway {
    pub name: GatewayName,
    /// The gateway it hangs on, by its place in the list; `None`: the broker.
    pub on: Option<usize>,
    pub devices: Vec<Pattern>,
    /// A topic filter: whatever comes under it came through this gateway.
    pub topic: Option<String>,
    /// The device that is the gateway's own heartbeat.
    pub speaks: Option<DeviceId>,
}

/// A device's name, in which `*` stands for anything.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pattern(String);

impl Pattern {
    pub fn new(text: &str) -> Self {
        Self(text.to_owned())
    }

    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Whether it is the name of one device alone.
    pub fn is_one(&self) -> bool {
        !self.0.contains('*')
    }

    pub fn matches(&self, device: &str) -> bool {
        let Some((first, rest)) = self.0.split_once('*') else {
            return self.0 == device;
        };
        let Some(mut left) = device.strip_prefix(first) else {
            return false;
        };
        let mut parts: Vec<&str> = rest.split('*').collect();
        let last = parts.pop().unwrap_or_default();
        for part in parts {
            let Some(at) = left.find(part) else {
                return false;
            };
            left = &left[at + part.len()..];
        }
        left.ends_with(last)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_star_stands_for_anything_also_for_nothing() {
        let is = |pattern: &str, device: &str| Pattern::new(pattern).matches(device);
        assert!(is("t-07", "t-07") && !is("t-07", "t-070"));
        assert!(is("t-*", "t-07") && is("t-*", "t-") && !is("t-*", "k-07"));
        assert!(is("*-07", "t-07") && !is("*-07", "t-08"));
        assert!(is("t-*-a*", "t-07-a1") && !is("t-*-a", "t-07-b") && is("*", ""));
        assert!(!is("ab*ba", "aba"), "no letter counts twice");
    }
}
