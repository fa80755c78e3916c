//! A packet is what the broker gave us, kept raw: a better decoder can re-read last season.

use std::fmt;

use serde::de::{Error, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// Bytes on a topic. It is heard at the moment of its step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Packet {
    pub topic: String,
    pub payload: Payload,
    /// Sent by the broker because it kept it, not because a sensor spoke just now.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub retained: bool,
}

/// Raw bytes. In the journal they are text where they are UTF-8, and hex behind a NUL where not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Payload(pub Vec<u8>);

const HEX_FOLLOWS: char = '\0';

impl Serialize for Payload {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match std::str::from_utf8(&self.0) {
            Ok(text) if !text.starts_with(HEX_FOLLOWS) => serializer.serialize_str(text),
            Ok(_) | Err(_) => {
                let mut hex = String::with_capacity(self.0.len() * 2 + 1);
                hex.push(HEX_FOLLOWS);
                for byte in &self.0 {
                    hex.push_str(&format!("{byte:02x}"));
                }
                serializer.serialize_str(&hex)
            }
        }
    }
}

impl<'de> Deserialize<'de> for Payload {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Text;
        impl Visitor<'_> for Text {
            type Value = Payload;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a payload as text, or as hex behind a NUL")
            }
            fn visit_str<E: Error>(self, text: &str) -> Result<Payload, E> {
                match text.strip_prefix(HEX_FOLLOWS) {
                    None => Ok(Payload(text.as_bytes().to_vec())),
                    Some(hex) => unhex(hex).map(Payload).ok_or_else(|| E::custom("not hex")),
                }
            }
        }
        deserializer.deserialize_str(Text)
    }
}

fn unhex(hex: &str) -> Option<Vec<u8>> {
    if !hex.len().is_multiple_of(2) || !hex.is_ascii() {
        return None;
    }
    (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).ok()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_bytes_survive_the_journal() {
        for bytes in
            [&b"{\"efforts\": 3}"[..], b"", b"\0", b"\xff\x00\x80", b"\0abc", "39,5°".as_bytes()]
        {
            let packet = Packet {
                topic: "yard/tail/t-07/state".into(),
                payload: Payload(bytes.to_vec()),
                retained: false,
            };
            let text = serde_json::to_string(&packet).unwrap();
            assert_eq!(serde_json::from_str::<Packet>(&text).unwrap(), packet);
        }
    }
}
