//! Makes a mail flat: a mail within a mail is an attachment, not something to walk into.
//!
//! The parser we use builds a tree of nested mails and walks it by recursion; of a nested mail in
//! base64 it even keeps a copy a level. A mail of 250 kB that is nothing but nesting then overflows
//! the stack, which ends the process and the night watch with it. So before a mail is parsed, the
//! two type names that open a level (RFC 2046 sections 5.2.1 and 5.1.5) are overwritten in every
//! Content-Type field, byte for byte, so that no length changes.

/// What "message" reads as in a flattened Content-Type.
pub(super) const INNER: &str = "x-inner";

const FIELD: &[u8] = b"content-type";
const OPENERS: [(&[u8], &[u8]); 2] = [(b"message", INNER.as_bytes()), (b"digest", b"x-dgst")];

/// The same mail, as long, with nothing in it to walk into.
pub(super) fn flatten(raw: &[u8]) -> Vec<u8> {
    let mut flat = raw.to_vec();
    let mut done = 0;
    for colon in 0..raw.len() {
        // The parser squeezes white space out of a field's name and may begin in mid-line, after a
        // boundary: whatever ends in the name before a colon counts.
        if colon >= done && raw[colon] == b':' && names_the_type(&raw[..colon]) {
            done = end_of_field(raw, colon);
            overwrite(&mut flat[colon..done]);
        }
    }
    flat
}

fn names_the_type(before: &[u8]) -> bool {
    let mut name = before
        .iter()
        .rev()
        .take_while(|byte| **byte != b'\n')
        .filter(|byte| !byte.is_ascii_whitespace());
    FIELD
        .iter()
        .rev()
        .all(|wanted| name.next().is_some_and(|byte| byte.eq_ignore_ascii_case(wanted)))
}

/// A field goes on over every line that begins with white space.
fn end_of_field(raw: &[u8], from: usize) -> usize {
    (from..raw.len())
        .find(|at| raw[*at] == b'\n' && !matches!(raw.get(at + 1), Some(b' ' | b'\t')))
        .unwrap_or(raw.len())
}

/// The type stands before the first semicolon; what follows are parameters, and a boundary may well
/// contain these words. Only a comment could hide a semicolon in front of the type.
fn overwrite(field: &mut [u8]) {
    let first = field.iter().position(|byte| *byte == b';');
    let end = match first {
        Some(end) if !field[..end].contains(&b'(') => end,
        Some(_) | None => field.len(),
    };
    for (word, instead) in OPENERS {
        let mut at = 0;
        while at + word.len() <= end {
            let here = &mut field[at..at + word.len()];
            if here.eq_ignore_ascii_case(word) {
                here.copy_from_slice(instead);
                at += word.len();
            } else {
                at += 1;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use mail_parser::{MessageParser, PartType};

    use super::*;

    fn flat(mail: &str) -> String {
        String::from_utf8(flatten(mail.as_bytes())).unwrap()
    }

    #[test]
    fn only_the_type_is_overwritten() {
        assert_eq!(
            flat("Content-Type: Message/RFC822; boundary=\"message_1\"\n\nContent: message"),
            "Content-Type: x-inner/RFC822; boundary=\"message_1\"\n\nContent: message"
        );
        assert_eq!(
            flat("Subject: message/rfc822\r\ncontent - type :\r\n\tmultipart/digest\r\nX: digest"),
            "Subject: message/rfc822\r\ncontent - type :\r\n\tmultipart/x-dgst\r\nX: digest"
        );
    }

    #[test]
    fn no_spelling_opens_a_level() {
        for way in [
            "Content-Type: message/rfc822",
            "--edgeContent-Type:message/rfc822",
            "::content-TYPE:MESSAGE/global",
            "Content-Type: (a;b) message (c) /(d) rfc822",
            "Content-Type:\n message\n /rfc822",
            "Content-Type: text/plain\nContent-Type: message/rfc822",
            "content-type:content-type:message/rfc822",
        ] {
            let mail = format!(
                "Content-Type: multipart/mixed; boundary=edge\n\n--edge\n{way}\n\nSubject: in\n\nin\n--edge--\n"
            );
            let flat = flatten(mail.as_bytes());
            assert_eq!(flat.len(), mail.len());
            let parsed = MessageParser::default().parse(&flat).unwrap();
            assert!(
                !parsed.parts.iter().any(|part| matches!(part.body, PartType::Message(_))),
                "{way}"
            );
        }
    }
}
