//! What is said of shifts, of what a part may do, of drills, and of why an alert is over.
//!
//! `{young}` and `{the}` are the species' own word for the young, with and without its article.

mod english;
mod french;
mod german;
mod spanish;

use crate::config::people::Language;

super::phrases! {
    Shifts;
    // Swaps.
    shift weekdays months takes_none nobody_named_so you_have_none they_have_none still_to_begin begins_on
    cannot_then too_many is_asked question question_back answer_swap asks_another changed_since takes takes_back
    you_are_backup you_take nobody_behind takes_not keeps stays_with none_open which_swap asked_for answered_not
    // Who cannot come.
    until until_they_say until_you_say cannot_come yours_where_behind not_behind_you ill_noted say_well not_ill
    comes_again yours_again
    // What a part may not do.
    may_not or owner stockman helper vet viewer deed_answer deed_mark deed_false deed_urgent deed_later deed_rota
    deed_device deed_inside deed_help deed_card deed_drill instead_see instead_go instead_ring instead_ask
    // Drills.
    drill_no_rule drill_on drill_not_now drill_begins drill_thanks drill_answered drill_unanswered report_head
    report_heard report_unheard report_hop hop_unknown hop_taken hop_failed report_call report_calls report_answered
    by_mail by_text at_machine report_not_yet report_nobody
    // Why it is over.
    over_told over_sensed over_faded over_unheard over_within over_as_before over_unseen over_not_so over_well
    over_heard_or_off over_heard over_above over_out over_answered over_rota over_drill over_watched over_seen_to
    over_works over_taken_out over_grown
}

/// The table of a language; a dialect says these as its language does.
pub fn of(language: Language) -> &'static Shifts {
    match language {
        Language::English | Language::IrishEnglish => &english::SHIFTS,
        Language::Spanish => &spanish::SHIFTS,
        Language::German => &german::SHIFTS,
        Language::French => &french::SHIFTS,
    }
}
