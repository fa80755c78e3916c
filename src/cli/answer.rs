//! `lowbell answer` and `lowbell mark`: a person's words from this machine, by the same door as a
//! reply to a mail.

use super::{End, FarmOption, load, runtime};
use crate::live::socket::{self, Question, Reply};

#[derive(clap::Args)]
pub struct AnswerArgs {
    /// The alert's number or its code, such as 3 or K4T7
    alert: String,
    /// What you say: going, pass, or what you see
    #[arg(required = true)]
    words: Vec<String>,
    /// Who you are
    #[arg(long = "as", value_name = "PERSON")]
    name: String,
    #[command(flatten)]
    farm: FarmOption,
}

#[derive(clap::Args)]
pub struct MarkArgs {
    /// The dam
    animal: String,
    /// What was seen, and when if not now: "water bag 0205"
    #[arg(required = true)]
    words: Vec<String>,
    /// Who you are
    #[arg(long = "as", value_name = "PERSON")]
    name: String,
    #[command(flatten)]
    farm: FarmOption,
}

pub(super) fn answer(args: &AnswerArgs) -> Result<End, String> {
    let text = format!("{} {}", args.alert, args.words.join(" "));
    say(&args.farm, &args.name, text)
}

pub(super) fn mark(args: &MarkArgs) -> Result<End, String> {
    let text = format!("{} {}", args.animal, args.words.join(" "));
    say(&args.farm, &args.name, text)
}

pub(super) fn say(farm: &FarmOption, name: &str, text: String) -> Result<End, String> {
    let loaded = match load(&farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let question = Question::Say { name: name.to_owned(), text };
    match runtime()?.block_on(socket::ask(&loaded.data(), &question))? {
        Reply::Said { text, understood } => {
            say!("{text}");
            Ok(if understood { End::Done } else { End::Failed })
        }
        Reply::Wrong { why } => Err(why),
        Reply::Board(_) | Reply::Season(_) | Reply::Calendar { .. } => {
            Err("the watch answered something else".to_owned())
        }
    }
}
