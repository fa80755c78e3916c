//! `lowbell replay`: the journal through the watch again. The same program must write the same
//! diary; another version shows where it differs.

use std::ops::ControlFlow;
use std::path::PathBuf;

use super::End;
use crate::journal::{Block, Store};
use crate::replay::Replay;

#[derive(clap::Args)]
pub struct Args {
    /// The farm's data folder, or the journal file in it
    #[arg(value_name = "JOURNAL")]
    journal: PathBuf,
    /// Print the diary as it comes out
    #[arg(long)]
    print: bool,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let store = Store::open_read_only(&args.journal).map_err(|why| why.to_string())?;
    let mut replay = Replay::default();
    let mut differs = None;
    let damages = store
        .read(0, &mut |block| {
            differs = one_block(&mut replay, &block, args.print);
            if differs.is_some() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        })
        .map_err(|why| why.to_string())?;
    for damage in &damages {
        eprintln!("lowbell: row {} of the journal is damaged: {}", damage.row, damage.why);
    }
    match differs {
        None => {
            say!("{} entries, the same diary; digest {}", replay.entries, replay.digest());
            Ok(if damages.is_empty() { End::Done } else { End::Failed })
        }
        Some(difference) => {
            say!("after {} entries the diary differs:\n{difference}", replay.entries);
            Ok(End::Failed)
        }
    }
}

/// Replays a block; says where its diary differs from the recorded one.
fn one_block(replay: &mut Replay, block: &Block, print: bool) -> Option<String> {
    let mut lines = Vec::new();
    for entry in &block.entries {
        let (_, new) = replay.take(entry.at, &entry.event);
        lines.extend(new);
    }
    if print {
        for line in &lines {
            say!("{}  {}", line.at.rfc3339(), line.text);
        }
    }
    if replay.digest() == block.digest {
        return None;
    }
    let recorded = block.diary.iter().map(|line| line.text.as_str());
    let mut now = lines.iter().map(|line| line.text.as_str());
    for was in recorded {
        let is = now.next();
        if is != Some(was) {
            return Some(format!("recorded: {was}\nnow:      {}", is.unwrap_or("(nothing)")));
        }
    }
    Some(match now.next() {
        Some(more) => format!("recorded: (nothing)\nnow:      {more}"),
        None => format!("recorded digest {}, now {}", block.digest, replay.digest()),
    })
}
