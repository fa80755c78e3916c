//! Are two mail addresses the same mailbox?
//!
//! It compares; it never looks anything up and never guesses at aliases.

/// Case does not count: the standard lets a server tell `Ana@` from `ana@`, but no farm's provider
/// does, and phones capitalise what they like (RFC 5321 section 2.4 advises against relying on it).
pub fn same_mail(one: &str, other: &str) -> bool {
    match (plain(one), plain(other)) {
        (Some(one), Some(other)) => one == other,
        (Some(_) | None, _) => false,
    }
}

fn plain(address: &str) -> Option<String> {
    let address = address.trim();
    let inner = match (address.rfind('<'), address.ends_with('>')) {
        (Some(open), true) => &address[open + 1..address.len() - 1],
        (Some(_) | None, _) => address,
    };
    let lower = inner.trim().to_lowercase();
    let bare = lower.strip_prefix("mailto:").unwrap_or(&lower);
    let bare = bare.strip_suffix('.').unwrap_or(bare);
    let (local, domain) = bare.rsplit_once('@')?;
    (!local.is_empty() && !domain.is_empty()).then(|| bare.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn case_brackets_and_names_do_not_make_another_mailbox() {
        for other in [
            "ana@hollowbank.example",
            "Ana@HollowBank.Example",
            " <ana@hollowbank.example> ",
            "Ana <ana@hollowbank.example>",
            "mailto:ana@hollowbank.example",
            "ana@hollowbank.example.",
        ] {
            assert!(same_mail("ana@hollowbank.example", other), "{other}");
        }
    }

    #[test]
    fn nothing_and_somebody_else_are_not_the_same() {
        for (one, other) in [
            ("", ""),
            ("ana", "ana"),
            ("@", "@"),
            ("<", "<"),
            ("ana@hollowbank.example", "tom@hollowbank.example"),
            ("ana@hollowbank.example", "ana+cows@hollowbank.example"),
            ("ana@hollowbank.example", "ana@hollowbank.example.evil.example"),
            ("ana@hollowbank.example", "ana@hollowbank.example <x@evil.example>"),
        ] {
            assert!(!same_mail(one, other), "{one} {other}");
        }
    }
}
