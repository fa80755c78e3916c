//! What is said back to whoever tells of a dam, her young or a device.
//!
//! `{young}` and `{the}` are the species' own word for the young, with and without its article.

mod english;
mod french;
mod german;
mod spanish;

use crate::config::people::Language;

super::phrases! {
    Answers;
    // What was seen.
    noted not_taken which_animal which_young of_young nth_young who_is_out struck carrying first_stage second_stage
    third_stage recovering closed male female
    // Why it was not taken.
    no_young_say no_young_yet before_false no_young_of_her later_noted not_in_herd was_alive
    no_such_young dams_number calfs_number
    // After a loss, and of the dam.
    sorry young_over still_inside other_young placenta_waits her_over orphan milk_listed mother_listed milk_fever
    prolapse fever_twice fever_once withdrawal product_until meat milk withdrawal_unclear lost_early born_early
    aborted_short early_care
    // Of the young.
    open_young by late see_breathing see_sternal see_trying see_up see_suck see_colostrum see_navel see_tag
    see_weight see_sex another strains_again brix_low cold_mouth shivering too_warm little_low chilled very_chilled
    lifeless freemartin first_milk first_milk_both dairy_dose beef_dose
    // Of devices.
    device_on_nobody device_elsewhere no_such_swap new_battery is_on since is_on_nobody no_sensor_now has_too
    no_device never_named there_is no_animal unchanged stage_stays card_of_whom no_dam
    // Of a picture, and a sign of life.
    picture picture_unknown_age picture_taken picture_taken_both before after picture_old picture_missing picture_below
    life life_one life_open life_up life_down
}

/// The table of a language; a dialect says these as its language does.
pub fn of(language: Language) -> &'static Answers {
    match language {
        Language::English | Language::IrishEnglish => &english::ANSWERS,
        Language::Spanish => &spanish::ANSWERS,
        Language::German => &german::ANSWERS,
        Language::French => &french::ANSWERS,
    }
}
