//! What commands that work seasons share: the seasons themselves with their progress, Ctrl-C, the tables of a study.

use super::Failure;
pub(super) use crate::script::BASE;
use crate::script::Deciders;
use crate::tables::{self, OutFolder, SeasonsTable};
use crate::words::thousands;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use sim_core::study::{Findings, Hooks, Sink, Study, Variant};
use std::io::IsTerminal as _;
use std::sync::atomic::{AtomicBool, Ordering};

/// Seasons worked unless said otherwise.
pub(super) const SEASONS: u64 = 10_000;

/// Turned on by Ctrl-C.
pub(super) static STOP: AtomicBool = AtomicBool::new(false);

pub(super) fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, std::num::NonZero::get)
}

/// Ctrl-C ends the run after the seasons in hand; a second one ends the program.
pub(super) fn catch_ctrl_c() {
    // Fails if there is a handler already: then that one serves.
    let _ = ctrlc::set_handler(|| {
        if STOP.swap(true, Ordering::Relaxed) {
            std::process::exit(1);
        }
    });
}

/// Works the seasons, writing each into seasons.csv if there is a folder.
pub(super) fn work(
    study: &Study,
    deciders: &Deciders<'_>,
    out: Option<&mut OutFolder>,
) -> Result<Findings, Failure> {
    let bar = progress_bar(study.seasons, "seasons");
    let mut progress = |done| bar.set_position(done);
    let mut seasons = match &out {
        Some(out) => {
            Some(SeasonsTable::begin(out, &study.variants, study.seed, &STOP).map_err(Failure::Write)?)
        }
        None => None,
    };
    let sink = seasons.as_mut().map(|table| table as &mut dyn Sink);
    let hooks = Hooks { sink, progress: Some(&mut progress), stop: Some(&STOP) };
    let found = study.run(deciders, hooks);
    bar.finish_and_clear();
    if let (Some(out), Some(seasons)) = (out, seasons) {
        seasons.keep(out).map_err(Failure::Write)?;
    }
    Ok(found?)
}

/// Writes the tables that a whole study gives.
pub(super) fn write_tables(
    out: &mut OutFolder,
    variants: &[Variant],
    found: &Findings,
) -> Result<(), Failure> {
    let writers = [tables::write_risk, tables::write_finish, tables::write_use, tables::write_waits];
    writers.into_iter().try_for_each(|write| write(out, variants, found)).map_err(Failure::Write)
}

/// A study that was stopped before its first season says nothing.
pub(super) fn some_of(seasons: u64) -> Result<(), Failure> {
    if seasons == 0 {
        return Err(Failure::Stopped("stopped before the first season was done; nothing was written".into()));
    }
    Ok(())
}

/// A study that was stopped says so after all that it found.
pub(super) fn all_of(seasons: u64, asked: u64) -> Result<(), Failure> {
    if seasons < asked {
        return Err(Failure::Stopped(format!(
            "stopped after {} of {} seasons: all figures are of these",
            thousands(seasons),
            thousands(asked)
        )));
    }
    Ok(())
}

/// A bar for so many of what `of` says, on a terminal.
pub(super) fn progress_bar(count: u64, of: &str) -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::with_draw_target(Some(count), ProgressDrawTarget::stderr());
    match ProgressStyle::with_template(&format!(
        "{{bar:30}} {{human_pos}} of {{human_len}} {of}, {{eta}} left"
    )) {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}
