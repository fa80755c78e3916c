//! `lowbell drill`: tries the whole way by something that never was, and says each hop and its seconds.

use std::time::Duration;

use super::{End, FarmOption, Loaded, load, runtime};
use crate::alarm::drill::Drill;
use crate::live::socket::{self, Question, Reply};
use crate::talk::drill;
use crate::talk::speech::Speech;

/// How often the watch is asked how far it is.
const LOOK_AGAIN: Duration = Duration::from_secs(1);

#[derive(clap::Args)]
pub struct Args {
    /// Who you are: the report goes to you
    #[arg(long = "as", value_name = "PERSON", required_unless_present = "last")]
    name: Option<String>,
    /// Begin it, and do not wait for its end
    #[arg(long)]
    leave: bool,
    /// Print how the last one went, and begin none
    #[arg(long, conflicts_with_all = ["name", "leave"])]
    last: bool,
    #[command(flatten)]
    farm: FarmOption,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let Some(name) = &args.name else {
        match drill(&loaded)? {
            Some(drill) => say_report(&loaded, &drill),
            None => say!("There has been no drill yet."),
        }
        return Ok(End::Done);
    };
    let question = Question::Say { name: name.clone(), text: "drill".to_owned() };
    match runtime()?.block_on(socket::ask(&loaded.data(), &question))? {
        Reply::Said { text, understood } => {
            say!("{text}");
            if !understood {
                return Ok(End::Failed);
            }
        }
        Reply::Wrong { why } => return Err(why),
        Reply::Board(_) | Reply::Season(_) | Reply::Calendar { .. } => {
            return Err("the watch answered something else".to_owned());
        }
    }
    if args.leave { Ok(End::Done) } else { wait(&loaded) }
}

/// Waits for its end. Unanswered is a failure.
fn wait(loaded: &Loaded) -> Result<End, String> {
    loop {
        runtime()?.block_on(async { tokio::time::sleep(LOOK_AGAIN).await });
        let Some(drill) = drill(loaded)? else { return Err("the drill is gone".to_owned()) };
        if !drill.runs() {
            say_report(loaded, &drill);
            return Ok(if drill.answered.is_some() { End::Done } else { End::Failed });
        }
    }
}

fn drill(loaded: &Loaded) -> Result<Option<Drill>, String> {
    match runtime()?.block_on(socket::ask(&loaded.data(), &Question::Board))? {
        Reply::Board(Some(board)) => Ok(board.drill),
        Reply::Board(None) => Err("the watch has no settings yet".to_owned()),
        Reply::Wrong { why } => Err(why),
        Reply::Said { .. } | Reply::Season(_) | Reply::Calendar { .. } => {
            Err("the watch answered something else".to_owned())
        }
    }
}

fn say_report(loaded: &Loaded, drill: &Drill) {
    drill::report(drill, &Speech::english(&loaded.config)).iter().for_each(|line| say!("{line}"));
}
