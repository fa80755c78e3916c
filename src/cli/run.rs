//! `lowbell run`: the daemon.

use std::path::PathBuf;

use tokio::signal::unix::{SignalKind, signal};
use tokio::sync::mpsc;

use super::{End, Farm, load, runtime};
use crate::live::clock::Clock;
use crate::live::doors;
use crate::live::night::Night;
use crate::live::plan::Plan;
use crate::live::socket;
use crate::plain::zone;
use crate::watch::effect::Facts;

#[derive(clap::Args)]
pub struct Args {
    #[command(flatten)]
    farm: Farm,
}

pub(super) fn run(args: &Args) -> Result<End, String> {
    let to_journald = speak_of_trouble();
    let loaded = match load(&args.farm.farm)? {
        Ok(loaded) => loaded,
        Err(end) => return Ok(end),
    };
    let data = loaded.data();
    std::fs::create_dir_all(&data)
        .map_err(|why| format!("cannot make the data folder {}: {why}", data.display()))?;
    let plan = Plan {
        place: loaded.place,
        settings: loaded.text,
        data: data.clone(),
        clock: Box::new(Clock::system),
        credentials: std::env::var_os("CREDENTIALS_DIRECTORY").map(PathBuf::from),
        print: if to_journald { Box::new(to_fields) } else { Box::new(to_standard_output) },
    };
    tracing::info!("time zone data {}", zone::data_version());
    if let Some(warning) = super::check::zones_are_old() {
        tracing::warn!("{warning}");
    }
    runtime()?.block_on(async {
        let (doors, knock) = doors::doors();
        let night = Night::begin(plan, knock.arrive).await?;
        let listening = socket::listen(&data, knock.ask)?;
        on_signals(knock.stop, knock.reload)?;
        night.run(doors).await;
        listening.abort();
        // Nobody listens any more: a socket left behind would only be in the way.
        let _ = std::fs::remove_file(socket::path(&data));
        Ok(End::Done)
    })
}

fn on_signals(stop: mpsc::Sender<()>, reload: mpsc::Sender<()>) -> Result<(), String> {
    let listen = |kind| signal(kind).map_err(|why| format!("cannot listen for signals: {why}"));
    let mut term = listen(SignalKind::terminate())?;
    let mut interrupt = listen(SignalKind::interrupt())?;
    let mut hangup = listen(SignalKind::hangup())?;
    tokio::spawn(async move {
        loop {
            tokio::select! {
                _ = term.recv() => break,
                _ = interrupt.recv() => break,
                _ = hangup.recv() => { let _ = reload.try_send(()); }
            }
        }
        let _ = stop.send(()).await;
    });
    Ok(())
}

/// A line of the diary, for whoever reads along; a full disk or a closed pipe there is not our end.
fn to_standard_output(line: &str, _: &Facts) {
    say!("{line}");
}

/// A line of the diary with its fields, for `journalctl ANIMAL=114`.
fn to_fields(line: &str, facts: &Facts) {
    tracing::info!(
        target: "lowbell::diary",
        kind = facts.kind,
        animal = facts.animal.as_deref(),
        alert = facts.alert,
        message_no = facts.message,
        person = facts.person.as_deref(),
        line = facts.line.as_deref(),
        "{line}"
    );
}

/// What the lines have to say of their troubles goes to standard error, or under systemd to its
/// journal with fields; says whether the diary should go there too.
fn speak_of_trouble() -> bool {
    use tracing_subscriber::prelude::*;
    let level = tracing_subscriber::EnvFilter::try_from_env("LOWBELL_LOG")
        .unwrap_or_else(|_| tracing_subscriber::EnvFilter::new("lowbell=info"));
    let subscriber = tracing_subscriber::registry().with(level);
    #[cfg(feature = "journald")]
    if std::env::var_os("JOURNAL_STREAM").is_some()
        && let Ok(journald) = tracing_journald::layer()
    {
        let journald = journald.with_field_prefix(None);
        return subscriber.with(journald).try_init().is_ok();
    }
    let plain = tracing_subscriber::fmt::layer().with_writer(std::io::stderr).with_target(false);
    // Whoever started us may have set up another.
    let _ = subscriber.with(plain).try_init();
    false
}
