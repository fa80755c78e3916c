//! Where in a letter does somebody else's letter begin, when no `>` says so?
//!
//! Mail programs write a line above what they quote. The words of that line are known in four
//! languages; a line that ends in an address and a colon is known in every one.

use super::spelling;

/// An attribution is wrapped over at most this many lines.
const WRAP_MOST: usize = 3;
/// A block of From, Sent, To, Subject stands within this many lines of its first.
const BLOCK_MOST: usize = 6;

/// The first words of "On …, somebody wrote:", by language.
const OPENERS: [&str; 4] = ["on", "am", "le", "el"];
const VERBS: [&str; 8] =
    ["wrote", "writes", "schrieb", "geschrieben", "ecrit", "ecrivait", "escribio", "escribe"];
/// "On my way", "on the way", "on it": a person's own words.
const OWN_WORDS: [&str; 5] = ["my", "the", "it", "our", "way"];

const FROM: [&str; 3] = ["from", "von", "de"];
const BESIDE_FROM: [&str; 16] = [
    "sent", "date", "to", "subject", "gesendet", "datum", "an", "betreff", "envoye", "a", "objet",
    "enviado", "fecha", "para", "asunto", "cc",
];
const BANNERS: [&str; 8] = [
    "original message",
    "forwarded message",
    "ursprungliche nachricht",
    "weitergeleitete nachricht",
    "message d'origine",
    "message original",
    "mensaje original",
    "mensaje reenviado",
];
const FORWARDS: [&str; 4] = [
    "begin forwarded message:",
    "anfang der weitergeleiteten nachricht:",
    "debut du message reexpedie",
    "inicio del mensaje reenviado:",
];

/// Where somebody else's letter begins.
pub(super) struct Cut {
    /// Characters of the first line that are still the writer's own.
    pub(super) own: usize,
    /// Lines that the heading takes.
    pub(super) lines: usize,
}

/// Does a heading begin on the first of these lines?
pub(super) fn heading(lines: &[&str]) -> Option<Cut> {
    let first = spelling::folded(lines.first()?.trim_matches([' ', '*', '_']));
    if is_banner(&first) {
        return Some(Cut { own: 0, lines: 1 });
    }
    block(lines, &first)
        .or_else(|| wrapped_attribution(lines))
        .or_else(|| flattened(lines.first()?))
}

fn is_banner(first: &str) -> bool {
    let inner = first.trim_matches(['-', ' ', '=', '_']);
    let dashed = first.starts_with("--") || first.starts_with("==") || first.starts_with("__");
    (dashed && BANNERS.contains(&inner)) || FORWARDS.iter().any(|words| first.starts_with(words))
}

/// "From: … Sent: … To: … Subject: …", over several lines or run together in one.
fn block(lines: &[&str], first: &str) -> Option<Cut> {
    if !FROM.contains(&field(first)?) {
        return None;
    }
    let together = BESIDE_FROM
        .iter()
        .filter(|name| {
            first.contains(&format!(" {name}:")) || first.contains(&format!(" {name} :"))
        })
        .count();
    let below = lines
        .iter()
        .take(BLOCK_MOST)
        .skip(1)
        .map(|line| spelling::folded(line.trim_matches([' ', '*', '_'])))
        .take_while(|line| field(line).is_some())
        .collect::<Vec<_>>();
    let fields = below.iter().filter_map(|line| field(line));
    let known = fields.filter(|name| BESIDE_FROM.contains(name)).count();
    (together >= 2 || known >= 1).then_some(Cut { own: 0, lines: 1 + below.len() })
}

/// The name before the colon of "Name: value".
fn field(line: &str) -> Option<&str> {
    let (name, _) = line.split_once(':')?;
    let name = name.trim_matches([' ', '*', '_']);
    (!name.is_empty() && name.chars().all(char::is_alphabetic)).then_some(name)
}

fn wrapped_attribution(lines: &[&str]) -> Option<Cut> {
    let mut joined = String::new();
    for count in 1..=WRAP_MOST.min(lines.len()) {
        let line = lines[count - 1].trim();
        if line.is_empty() || line.starts_with('>') {
            return None;
        }
        // A later line that is a heading by itself leaves the lines before it to the writer.
        if count > 1 && !opens(lines[0]) && !lines[0].contains('@') {
            return None;
        }
        if count > 1 && opens(line) {
            return None;
        }
        joined.push(' ');
        joined.push_str(&spelling::folded(line));
        if ends_attribution(&joined) {
            return Some(Cut { own: 0, lines: count });
        }
    }
    None
}

/// "On Thu 12 Mar …": an opener with a figure somewhere behind it, and not "on my way 20".
fn opens(line: &str) -> bool {
    let folded = spelling::folded(line.trim());
    let mut words = folded.split_whitespace();
    let opener = words.next().is_some_and(|word| OPENERS.contains(&word));
    let next = words.next().unwrap_or_default();
    opener && !OWN_WORDS.contains(&next) && folded.contains(|c: char| c.is_ascii_digit())
}

fn ends_attribution(joined: &str) -> bool {
    let Some(before) = joined.trim_end().strip_suffix(':') else {
        return false;
    };
    let verb = before
        .split(|c: char| !c.is_alphabetic())
        .rev()
        .filter(|word| !word.is_empty())
        // German may put the date behind the verb.
        .take(12)
        .any(|word| VERBS.contains(&word));
    verb || has_address(before)
}

fn has_address(text: &str) -> bool {
    text.split_whitespace().any(|word| {
        let inner = word.trim_matches(['<', '>', '(', ')', '[', ']', ',']);
        inner.split_once('@').is_some_and(|(local, domain)| {
            !local.is_empty() && domain.contains('.') && !domain.ends_with('.')
        })
    })
}

/// Some programs flatten the whole letter into one line: cut at the opener before the verb.
fn flattened(line: &str) -> Option<Cut> {
    let folded = spelling::folded(line);
    let words: Vec<(usize, &str)> = words_at(&folded);
    let verb = words
        .iter()
        .position(|(_, word)| word.strip_suffix(':').is_some_and(|verb| VERBS.contains(&verb)))?;
    let opener = (0..verb).find(|&at| {
        let next = words.get(at + 1).map_or("", |(_, word)| word);
        OPENERS.contains(&words[at].1) && !OWN_WORDS.contains(&next)
    })?;
    let dated = words[opener..verb]
        .iter()
        .any(|(_, word)| word.contains(|c: char| c.is_ascii_digit() || c == '@'));
    dated.then(|| Cut { own: words[opener].0, lines: 1 })
}

/// Each word with the number of characters before it.
fn words_at(text: &str) -> Vec<(usize, &str)> {
    let mut at = 0;
    let mut words = Vec::new();
    for word in text.split(' ') {
        if !word.is_empty() {
            words.push((at, word));
        }
        at += word.chars().count() + 1;
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(text: &str) -> Option<(usize, usize)> {
        let lines: Vec<&str> = text.split('\n').collect();
        heading(&lines).map(|cut| (cut.own, cut.lines))
    }

    #[test]
    fn the_line_above_a_quoted_letter_is_known() {
        for (text, lines) in [
            ("On Thu, 12 Mar 2026 at 03:10, Lowbell <lowbell@hollowbank.example> wrote:", 1),
            ("On Thu, 12 Mar 2026 at 03:10, Lowbell <lowbell@hollowbank.example>\nwrote:", 2),
            ("On 12 Mar 2026, at 03:10,\nLowbell <lowbell@hollowbank.example>\nwrote:", 3),
            ("Lowbell <lowbell@hollowbank.example> wrote:", 1),
            ("Am 12.03.2026 um 03:10 schrieb Lowbell <lowbell@hollowbank.example>:", 1),
            ("Lowbell schrieb am Do., 12. März 2026, 03:10:", 1),
            ("Le jeu. 12 mars 2026 à 03:10, Lowbell <lowbell@hollowbank.example> a\nécrit :", 2),
            (
                "El jue, 12 mar 2026 a las 03:10, Lowbell (<lowbell@hollowbank.example>) escribió:",
                1,
            ),
            ("2026-03-12 3:10 GMT Lowbell <lowbell@hollowbank.example>:", 1),
            ("Op do 12 mrt 2026 om 03:10 schreef Lowbell <lowbell@hollowbank.example>:", 1),
            ("-----Original Message-----", 1),
            ("---------- Forwarded message ---------", 1),
            ("-------- Ursprüngliche Nachricht --------", 1),
            ("Begin forwarded message:", 1),
            ("From: Lowbell\nSent: 12 March 2026 03:10\nTo: Ana\nSubject: 114\n\ntext", 4),
            ("*From:* Lowbell\n*Date:* 12 March 2026", 2),
            ("Von: Lowbell\nGesendet: Donnerstag, 12. März 2026 03:10\nAn: Ana\nBetreff: 114", 4),
            ("De : Lowbell\nEnvoyé : jeudi 12 mars 2026 03:10\nÀ : Ana\nObjet : 114", 4),
            ("From: Lowbell Sent: 12 March 2026 03:10 To: Ana Subject: 114 second stage", 1),
        ] {
            assert_eq!(cut(text), Some((0, lines)), "{text}");
        }
    }

    #[test]
    fn a_flattened_letter_is_cut_inside_the_line() {
        let text =
            "on my way 20 On Thu 12 Mar 2026 Lowbell <l@hollowbank.example> wrote: reply going";
        assert_eq!(cut(text), Some((13, 1)));
    }

    #[test]
    fn a_persons_own_words_are_not_a_heading() {
        for text in [
            "On my way",
            "On my way\nOn Thu, 12 Mar 2026 at 03:10, Lowbell wrote:",
            "On it 20\nLowbell <lowbell@hollowbank.example> wrote:",
            "going\nLowbell <lowbell@hollowbank.example> wrote:",
            "114: feet 0210",
            "from: me",
            "De-horned 114\nto do",
            "",
        ] {
            assert_eq!(cut(text), None, "{text}");
        }
    }
}
