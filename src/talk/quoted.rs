//! The new words of a reply: what its writer typed, without what their program put around it.
//!
//! Words that we ourselves sent come back under every reply ("reply going"): taken for the answer
//! they would silence an alarm. Where a line may be ours or theirs, it is dropped.

use super::{original, spelling};

/// A reply is read this far. The lines that carry mail cap it too; quoted text may be long.
const READ_MOST: usize = 65_536;
/// Mail programs wrap text at about this column; what is quoted gets longer and is wrapped again.
const WRAP_FROM: usize = 72;
const WRAP_TO: usize = 80;
/// A flowed line is this long before its soft break (RFC 3676 section 4.2 advises 66 at most 78).
const FLOWED_FROM: usize = 55;
/// A quotation within the text is a copy of ours if it is at least this long.
const CITED_FROM: usize = 12;

/// The first words of the line that a telephone or program signs with.
const SIGNED_BY_MACHINE: [&str; 8] = [
    "sent from my ",
    "sent from ",
    "sent via ",
    "sent with ",
    "envoye de mon ",
    "envoye depuis ",
    "enviado desde ",
    "gesendet von ",
];
const SIGNED_WITHIN: &str = " sent from my ";

/// Only what is new in a reply.
pub fn new_text(text: &str) -> String {
    let visible = spelling::visible(text, READ_MOST);
    let uncited = without_citations(&visible);
    let lines: Vec<&str> = uncited.split('\n').collect();
    let mut kept = Vec::new();
    let mut signed = false;
    let mut at = 0;
    while at < lines.len() {
        let line = lines[at];
        if is_quoted(line) {
            signed = false;
            at += 1;
            if at < lines.len() && is_wrapped_rest(line, lines[at]) {
                at += 1;
            }
            continue;
        }
        if let Some(cut) = original::heading(&lines[at..]) {
            signed = false;
            kept.push(line.chars().take(cut.own).collect());
            at += cut.lines;
            // With `>` below, the quoted lines say for themselves which they are, and an answer
            // may stand between or under them. Without, all that follows is the old letter.
            if !quoted_next(&lines[at..]) {
                break;
            }
            continue;
        }
        at += 1;
        signed |= is_signature_mark(line);
        if !signed && !is_signed_by_machine(line) {
            kept.push(own_part(line));
        }
    }
    joined(&kept)
}

/// At any depth, with any space before; also as programs leave it that escape it for the web.
fn is_quoted(line: &str) -> bool {
    let start = line.trim_start();
    start.starts_with(['>', '＞', '|']) || start.starts_with("&gt;")
}

fn quoted_next(lines: &[&str]) -> bool {
    let next = lines.iter().find(|line| !line.trim().is_empty());
    next.is_some_and(|line| is_quoted(line))
}

/// A quoted line that was too long is wrapped by some programs without a new `>`. Its rest looks
/// like an answer right under it ("… Reply\ngoing"), so a line that would not have fitted is dropped.
fn is_wrapped_rest(quoted: &str, next: &str) -> bool {
    let length = quoted.trim_end().chars().count();
    let Some(word) = next.split_whitespace().next() else {
        return false;
    };
    !is_quoted(next) && length <= WRAP_TO && length + 1 + word.chars().count() > WRAP_FROM
}

/// The usual two dashes on a line of their own (RFC 3676 section 4.3), or as a keyboard corrects them.
fn is_signature_mark(line: &str) -> bool {
    matches!(line.trim_end(), "--" | "—" | "––")
}

fn is_signed_by_machine(line: &str) -> bool {
    let line = spelling::folded(line.trim());
    let get = line.starts_with("get ")
        && [" for ios", " for android", " for mobile", " for windows", " for mac", " for phone"]
            .iter()
            .any(|system| line.contains(system));
    let german = line.starts_with("von mein") && line.contains("gesendet");
    get || german || SIGNED_BY_MACHINE.iter().any(|words| line.starts_with(words))
}

/// Cut where a program has run its own words on behind the writer's.
fn own_part(line: &str) -> String {
    let folded: Vec<char> = line.chars().map(spelling::fold).collect();
    let folded: String = folded.into_iter().collect();
    let ends = [SIGNED_WITHIN, " > ", " &gt; "]
        .iter()
        .filter_map(|words| folded.find(words))
        .map(|byte| folded[..byte].chars().count())
        .min();
    match ends {
        Some(own) => line.chars().take(own).collect(),
        None => line.to_owned(),
    }
}

/// Telephones answer with a copy of our text in quotation marks (`Liked “…”`): it goes.
fn without_citations(text: &str) -> String {
    let mut kept = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(open) = rest.find(['“', '„', '«', '"']) {
        kept.push_str(&rest[..open]);
        let inner = &rest[open..];
        let Some(mark) = inner.chars().next() else {
            break;
        };
        let body = &inner[mark.len_utf8()..];
        let close = match mark {
            '"' => body.find(['"', '\n']).filter(|&at| body[at..].starts_with('"')),
            '«' => body.find('»'),
            _ => body.find(['”', '“']),
        };
        let body_end = close.unwrap_or(body.len());
        let cited = body[..body_end].chars().count() >= CITED_FROM;
        let unclosed_inch = mark == '"' && close.is_none();
        if !cited || unclosed_inch {
            kept.push(' ');
            rest = body;
            continue;
        }
        let closer = body[body_end..].chars().next().map_or(0, char::len_utf8);
        rest = &body[body_end + closer..];
    }
    kept.push_str(rest);
    kept
}

/// Softly broken lines are one line again, blank lines at the ends are gone.
fn joined(lines: &[String]) -> String {
    let mut text = String::new();
    for line in lines {
        text.push_str(line.trim());
        let soft = line.ends_with(' ') && line.chars().count() >= FLOWED_FROM;
        text.push(if soft { ' ' } else { '\n' });
    }
    text.trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quoted_lines_of_any_depth_go() {
        assert_eq!(new_text("going\r\n\r\n> one\r\n>> two\r\n  > three\r\n&gt; four"), "going");
        assert_eq!(new_text("> one\n> two"), "");
    }

    #[test]
    fn a_right_code_inside_the_quoted_text_is_not_said() {
        // Vector AV-17, after RFC 3676 section 4.5 (quoted lines begin with ">").
        assert_eq!(new_text("> ACK 7Q2F"), "");
    }

    #[test]
    fn answers_above_between_and_below_quoted_lines_stay() {
        let text = "Morning\n\nOn Thu, 12 Mar 2026 at 03:10, Lowbell <l@hollowbank.example>\nwrote:\n\
                    > 114 second stage\n\nfeet 0210\n\n> Reply going\non my way\n";
        assert_eq!(new_text(text), "Morning\n\n\n\nfeet 0210\n\non my way");
    }

    #[test]
    fn an_old_letter_without_quote_signs_goes_to_its_end() {
        for heading in [
            "On Thu, 12 Mar 2026 at 03:10, Lowbell <l@hollowbank.example> wrote:",
            "Am 12.03.26 um 03:10 schrieb Lowbell:",
            "-----Original Message-----",
            "________________________________\nFrom: Lowbell\nSent: Thursday 03:10\nTo: Ana",
            "Begin forwarded message:",
        ] {
            let text = format!("Going\n\n{heading}\n\nReply pass or going.\n\n114 feet\n");
            let new = new_text(&text);
            assert_eq!(new.trim_matches(['_', '\n']), "Going", "{heading}");
        }
    }

    #[test]
    fn signatures_go() {
        assert_eq!(new_text("Going\n-- \nAna\nOn call: yes"), "Going");
        assert_eq!(new_text("Going\n\nSent from my phone"), "Going");
        assert_eq!(new_text("Going Sent from my phone"), "Going");
        assert_eq!(new_text("Going\nGet Mail for Android"), "Going");
        assert_eq!(new_text("Going\nVon meinem Telefon gesendet"), "Going");
        assert_eq!(new_text("Going\n-- \nAna\n> old\nfeet 0210"), "Going\nfeet 0210");
    }

    #[test]
    fn the_rest_of_a_quoted_line_that_was_wrapped_is_not_an_answer() {
        let text = "> 114 Bramble, home field: second stage too long, 62 min. Go and look. Reply\n\
                    going to take it.\n> Lowbell";
        assert_eq!(new_text(text), "");
        assert_eq!(new_text("> 114 second stage\ngoing"), "going");
    }

    #[test]
    fn a_telephones_copy_of_our_text_goes() {
        assert_eq!(new_text("Liked “114 second stage.\nReply going”"), "Liked");
        assert_eq!(new_text("👍 to \"114 second stage, reply going\""), "👍 to");
        assert_eq!(new_text("Liked “114 second stage. Reply going"), "Liked");
        assert_eq!(new_text("5\" bag\ngoing"), "5  bag\ngoing");
    }

    #[test]
    fn softly_broken_lines_are_one() {
        // RFC 3676 section 4.2: a line that ends in a space goes on in the next.
        let text = "she is at the far end of the home field and there are no \nfeet yet";
        assert_eq!(new_text(text), text.replace('\n', ""));
        assert_eq!(new_text("114 feet \n207 nose"), "114 feet\n207 nose");
    }

    proptest::proptest! {
        #[test]
        fn no_text_makes_it_fail(text in "\\PC*|[\\s\\S]{0,200}|([>\"“ \n:@ao]|wrote|On|From){0,60}") {
            let new = new_text(&text);
            proptest::prop_assert!(new.chars().count() <= text.chars().count());
        }

        #[test]
        fn a_text_of_quoted_lines_only_is_empty(
            lines in proptest::collection::vec(" {0,3}>+[ >]{0,3}[^\\r\\n“„«\"\\p{C}\\u{2028}\\u{2029}]{0,90}", 0..12),
        ) {
            proptest::prop_assert_eq!(new_text(&lines.join("\n")), "");
        }
    }
}
