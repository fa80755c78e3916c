//! Which of our messages does a mail answer?
//!
//! It reads only ids of our own making. Whether the sender may answer that message is not judged here.

use crate::plain::ids::MessageNo;

/// More ids than this are not a conversation with us; a long References field costs nothing.
const IDS_MOST: usize = 200;

/// The number of our message: from In-Reply-To first, then from References, newest first, because a
/// reply's own parent stands last there (RFC 5322 section 3.6.4). Ids of another seed are another
/// installation's, or somebody's invention.
pub fn which_message(
    in_reply_to: &[String],
    references: &[String],
    seed: u64,
) -> Option<MessageNo> {
    let direct = in_reply_to.iter().take(IDS_MOST);
    let older = references.iter().rev().take(IDS_MOST);
    direct.chain(older).find_map(|id| our_number(id, seed))
}

/// `lowbell.SEED.NUMBER@anything`, the seed as sixteen hex digits.
fn our_number(id: &str, seed: u64) -> Option<MessageNo> {
    let id = id.trim().trim_start_matches('<').trim_end_matches('>');
    let (local, _domain) = id.rsplit_once('@')?;
    let (mark, number) = local.rsplit_once('.')?;
    if mark != format!("lowbell.{seed:016x}") {
        return None;
    }
    let canonical = number.bytes().all(|b| b.is_ascii_digit()) && !number.starts_with('0');
    let number = number.parse().ok().filter(|_| canonical)?;
    Some(MessageNo(number))
}

#[cfg(test)]
mod tests {
    use super::*;

    const SEED: u64 = 0x00c0_ffee_0123_4567;

    fn ids(list: &[&str]) -> Vec<String> {
        list.iter().map(|&id| id.to_owned()).collect()
    }

    fn which(direct: &[&str], older: &[&str]) -> Option<u64> {
        which_message(&ids(direct), &ids(older), SEED).map(|no| no.0)
    }

    #[test]
    fn in_reply_to_comes_before_references_and_references_are_read_from_the_end() {
        // RFC 5322 section 3.6.4 (EM-07).
        let seven = "lowbell.00c0ffee01234567.7@hollowbank.example";
        let nine = "lowbell.00c0ffee01234567.9@[127.0.0.1]";
        assert_eq!(which(&[seven], &[nine]), Some(7));
        assert_eq!(which(&["other@hollowbank.example"], &[seven, nine]), Some(9));
        assert_eq!(which(&[], &[nine, seven, "x@y.example"]), Some(7));
        assert_eq!(which(&[&format!(" <{seven}> ")], &[]), Some(7));
    }

    #[test]
    fn references_alone_are_enough() {
        // RFC 3834 and RFC 5322, vector AV-15: no In-Reply-To, the right References.
        assert_eq!(which(&[], &["lowbell.00c0ffee01234567.12@hollowbank.example"]), Some(12));
    }

    #[test]
    fn an_id_of_another_seed_or_shape_is_not_ours() {
        for id in [
            "",
            "@",
            "lowbell.00c0ffee01234568.7@hollowbank.example",
            "lowbell.c0ffee01234567.7@hollowbank.example",
            "lowbell.00c0ffee01234567.@hollowbank.example",
            "lowbell.00c0ffee01234567.+7@hollowbank.example",
            "lowbell.00c0ffee01234567.07@hollowbank.example",
            "lowbell.00c0ffee01234567.7",
            "lowbell.00c0ffee01234567.99999999999999999999@hollowbank.example",
            "xlowbell.00c0ffee01234567.7@hollowbank.example",
        ] {
            assert_eq!(which(&[id], &[]), None, "{id}");
        }
    }
}
