//! What a language's table of words holds. The tables stand in `tongue`, one a language: a missing list does not compile.
//!
//! All words stand here in their plain form: lower case, no accents, no apostrophes ("cant"). The
//! grammar knows none of them by itself. A phrase is found before the shorter one that begins it.
//! Adding a word here can only make more understood: be sure that nobody means anything else by it.

use super::hand_on::HandWords;
use super::inside::InsideWords;
pub(super) use super::phrase::{Going, Phrase, has, longest, longest_of};
use super::swap::RotaWords;

pub(super) struct Words {
    pub(super) going: &'static [(Going, &'static str)],
    /// Beside a going phrase, and after it for the second list.
    pub(super) going_filler: &'static str,
    pub(super) going_where: &'static str,
    /// Between "going" and the animal.
    pub(super) toward: &'static str,
    /// True: a bare "no", an answer only if nothing on its line is in doubt.
    pub(super) pass: &'static [(bool, &'static str)],
    pub(super) pass_filler: &'static str,
    pub(super) marks: &'static [(Phrase, &'static str)],
    /// Beside a bare "calf", which is a birth only if nothing hints that part of it is still inside.
    pub(super) calf_filler: &'static str,
    /// Beside a mark of something finished: "placenta showing" is not passed. The second list is for
    /// what the writer did, the third for what comes out.
    pub(super) finished_filler: &'static str,
    pub(super) done_filler: &'static str,
    pub(super) out: &'static str,
    pub(super) half_day: &'static str,
    /// Words that may stand beside colostrum and say nothing more of it.
    pub(super) colostrum_words: &'static str,
    pub(super) litres: &'static str,
    /// Behind "treated", a comma or a stop before these does not end what was given.
    pub(super) of_a_label: &'static str,
    /// Said of a calf too: a mark of the dam only where she is named beside it.
    pub(super) whose: &'static str,
    pub(super) millilitres: &'static str,
    pub(super) quarts: &'static str,
    /// First milk's own words, its ways into the calf, and what it may be made of.
    pub(super) milk: &'static str,
    pub(super) by_tube: &'static str,
    pub(super) by_bottle: &'static str,
    pub(super) powder: &'static str,
    pub(super) kilos: &'static str,
    pub(super) pounds: &'static str,
    /// How a weight was come by.
    pub(super) by_tape: &'static str,
    pub(super) by_eye: &'static str,
    pub(super) by_scales: &'static str,
    /// Between "fostered" and the foster mother.
    pub(super) to_mother: &'static str,
    /// Before a number, an animal or a time.
    pub(super) before_animal: &'static str,
    pub(super) before_time: &'static str,
    pub(super) alert: &'static str,
    pub(super) code: &'static str,
    pub(super) within: &'static str,
    pub(super) minutes: &'static str,
    pub(super) hours: &'static str,
    pub(super) lengths: &'static [(u32, &'static str)],
    pub(super) and: &'static str,
    /// Separate like a comma.
    pub(super) but: &'static str,
    /// A greeting that only the first words of a text can be: elsewhere it is a time of day.
    pub(super) opening: &'static str,
    /// A greeting and, for the second list, one that any name may follow.
    pub(super) greeting: &'static str,
    pub(super) to_somebody: &'static str,
    /// Deny what follows to the end of the sentence.
    pub(super) negation: &'static str,
    /// Begin a question that lost its question mark.
    pub(super) question: &'static str,
    /// Make a sentence doubtful: none of its marks count, and no "I go" in the whole text.
    pub(super) doubt: &'static str,
    /// Put things off: no "I go" in the whole text.
    pub(super) later: &'static str,
    /// Alone, or with how long and what: it is put off.
    pub(super) put_off: &'static str,
    /// Put things on others: an "ok" beside them is not "I go".
    pub(super) others: &'static str,
    /// Our own letters say these on the line that lists what can be answered: come back without a
    /// quote sign, that line answers nothing.
    pub(super) ours: &'static str,
    /// Take back: nothing in the text counts.
    pub(super) taken_back: &'static str,
    /// What is done to a device: "put", "take", "off", "swap", "battery", and what may stand around.
    pub(super) put: &'static str,
    pub(super) on: &'static str,
    pub(super) take: &'static str,
    pub(super) off: &'static str,
    pub(super) swap: &'static str,
    pub(super) swap_with: &'static str,
    pub(super) battery: &'static str,
    pub(super) battery_filler: &'static str,
    pub(super) please: &'static str,
    pub(super) before_device: &'static str,
    /// Between what came off and whom it came off, and what it was moved away from.
    pub(super) off_whom: &'static str,
    pub(super) inside: InsideWords,
    /// Who takes which shift.
    pub(super) rota: RotaWords,
    /// Who is to have an alert, by name.
    pub(super) hand: HandWords,
    /// Ask for what the vet needs to know of a dam.
    pub(super) vet_card: &'static str,
    /// What was moved away from.
    pub(super) from: &'static str,
    /// What other species' words are heard as, cattle's first; `None` in English, where a word may depend on the next.
    pub(super) beasts: Option<&'static [(&'static str, &'static str)]>,
    /// The calf in a longer phrase.
    pub(super) calf: &'static str,
    /// Behind "sex": a bull calf, a heifer calf.
    pub(super) sexes: [&'static str; 2],
    /// Words of help that have a score of their own: 1 none, 2 an easy pull, 3 a hard one, 4 by surgery.
    pub(super) eased: [&'static str; 4],
}
