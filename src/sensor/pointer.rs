//! A place in a JSON document, written by RFC 6901 and taken apart once.
//!
//! It reads only: "-", the place behind an array's end, is a place where nothing is.

use std::fmt;

use serde_json::Value;

/// A parsed JSON pointer, such as `/status/batt`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pointer {
    written: Box<str>,
    tokens: Box<[Token]>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct Token {
    key: Box<str>,
    /// The key as an array index, if it is one.
    index: Option<usize>,
}

/// Why a text is not a pointer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PointerFault {
    NoSlash { written: String },
    Tilde { written: String },
}

impl Pointer {
    pub fn parse(text: &str) -> Result<Self, PointerFault> {
        let tokens = match text.strip_prefix('/') {
            None if text.is_empty() => Box::default(),
            None => {
                return Err(PointerFault::NoSlash { written: text.to_owned() });
            }
            Some(rest) => rest
                .split('/')
                .map(|token| {
                    Token::parse(token)
                        .ok_or_else(|| PointerFault::Tilde { written: text.to_owned() })
                })
                .collect::<Result<_, _>>()?,
        };
        Ok(Self { written: text.into(), tokens })
    }

    /// The place of one key, whatever characters it has.
    pub fn to_key(key: &str) -> Self {
        let token = Token { key: key.into(), index: None };
        Self { written: key.into(), tokens: Box::new([token]) }
    }

    /// What is at this place, if anything is.
    pub fn find<'v>(&self, document: &'v Value) -> Option<&'v Value> {
        self.tokens.iter().try_fold(document, |value, token| match value {
            Value::Object(map) => map.get(&*token.key),
            Value::Array(list) => list.get(token.index?),
            Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => None,
        })
    }
}

impl fmt::Display for Pointer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.tokens.is_empty() {
            f.write_str("the whole message")
        } else {
            f.write_str(&self.written)
        }
    }
}

impl Token {
    fn parse(text: &str) -> Option<Self> {
        let mut key = String::with_capacity(text.len());
        let mut chars = text.chars();
        while let Some(c) = chars.next() {
            key.push(match c {
                '~' => match chars.next()? {
                    '0' => '~',
                    '1' => '/',
                    _ => return None,
                },
                other => other,
            });
        }
        let digits = key.bytes().all(|b| b.is_ascii_digit());
        let index =
            (digits && (key == "0" || !key.starts_with('0'))).then(|| key.parse().ok()).flatten();
        Some(Self { key: key.into(), index })
    }
}

impl std::error::Error for PointerFault {}

impl fmt::Display for PointerFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoSlash { written } => write!(
                f,
                "`{written}` is no place in a message: it begins with `/`, as in `/{written}`"
            ),
            Self::Tilde { written } => write!(
                f,
                "`{written}` is no place in a message: write `~0` for `~` and `~1` for a `/` inside a name"
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn the_examples_of_rfc_6901_section_5_hold() {
        // RFC 6901 section 5: its document and its twelve pointers.
        let document = json!({
            "foo": ["bar", "baz"], "": 0, "a/b": 1, "c%d": 2, "e^f": 3, "g|h": 4,
            "i\\j": 5, "k\"l": 6, " ": 7, "m~n": 8
        });
        for (pointer, expected) in [
            ("", document.clone()),
            ("/foo", json!(["bar", "baz"])),
            ("/foo/0", json!("bar")),
            ("/", json!(0)),
            ("/a~1b", json!(1)),
            ("/c%d", json!(2)),
            ("/e^f", json!(3)),
            ("/g|h", json!(4)),
            ("/i\\j", json!(5)),
            ("/k\"l", json!(6)),
            ("/ ", json!(7)),
            ("/m~0n", json!(8)),
        ] {
            let parsed = Pointer::parse(pointer).unwrap();
            assert_eq!(parsed.find(&document), Some(&expected), "{pointer}");
        }
    }

    #[test]
    fn escapes_and_indices_are_as_rfc_6901_section_4_says() {
        // RFC 6901 section 4: "~01" is "~1"; an index has no leading zero; "-" is never there.
        let document = json!({ "~1": 1, "list": [10, 11], "map": { "00": 5 } });
        for (pointer, expected) in [
            ("/~01", Some(json!(1))),
            ("/list/1", Some(json!(11))),
            ("/list/01", None),
            ("/list/+1", None),
            ("/list/-", None),
            ("/list/2", None),
            ("/list/", None),
            ("/list/99999999999999999999999", None),
            ("/map/00", Some(json!(5))),
            ("/list/1/0", None),
        ] {
            let parsed = Pointer::parse(pointer).unwrap();
            assert_eq!(parsed.find(&document), expected.as_ref(), "{pointer}");
        }
    }

    #[test]
    fn a_text_that_is_no_pointer_says_what_to_write() {
        // RFC 6901 section 3: the grammar.
        for (text, says) in [
            ("efforts", "`efforts` is no place in a message: it begins with `/`, as in `/efforts`"),
            (
                "/a~",
                "`/a~` is no place in a message: write `~0` for `~` and `~1` for a `/` inside a name",
            ),
            (
                "/a~2",
                "`/a~2` is no place in a message: write `~0` for `~` and `~1` for a `/` inside a name",
            ),
        ] {
            assert_eq!(Pointer::parse(text).unwrap_err().to_string(), says);
        }
    }
}
