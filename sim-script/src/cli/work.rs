//! What commands that work seasons share: the seasons themselves with their progress, Ctrl-C, the tables of a study.

use super::Failure;
pub(super) use crate::script::BASE;
use crate::script::Deciders;
use crate::tables::{self, OutFolder, SeasonsTable};
use crate::words::thousands;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use sim_core::study::{Findings, HalfWidth, Hooks, Refits, Sink, Study, Variant};
use std::io::IsTerminal as _;
use std::sync::atomic::{AtomicBool, Ordering};

/// Seasons worked unless said otherwise.
const SEASONS: u64 = 10_000;

/// The most seasons worked unless said otherwise, where what they tell decides how many.
pub(super) const MOST_SEASONS: u64 = 1_000_000;

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

/// How many seasons to work at most: those asked for, or what is usual where they are or are not enough by themselves.
pub(super) fn seasons_asked(given: Option<u64>, until_enough: bool, base: &Variant) -> u64 {
    let usual = if until_enough { MOST_SEASONS } else { SEASONS };
    given.or(base.weather.all_seasons()).unwrap_or(usual)
}

/// Works the seasons, writing each into seasons.csv if there is a folder.
pub(super) fn work(
    study: &Study,
    deciders: &Deciders<'_>,
    until: Option<HalfWidth>,
    out: Option<&mut OutFolder>,
) -> Result<Findings, Failure> {
    let bar = if until.is_some() { counting("seasons") } else { progress_bar(study.seasons, "seasons") };
    let mut progress = |done| bar.set_position(done);
    let mut seasons = match &out {
        Some(out) => {
            Some(SeasonsTable::begin(out, &study.variants, study.seed, &STOP).map_err(Failure::Write)?)
        }
        None => None,
    };
    let sink = seasons.as_mut().map(|table| table as &mut dyn Sink);
    let hooks = Hooks { sink, progress: Some(&mut progress), stop: Some(&STOP), until };
    let found = study.run(deciders, hooks);
    bar.finish_and_clear();
    if let (Some(out), Some(seasons)) = (out, seasons) {
        seasons.keep(out).map_err(Failure::Write)?;
    }
    Ok(found?)
}

/// Whether so many fits say anything; asked before any season is worked.
pub(super) fn check_refits(fits: u64) -> Result<(), Failure> {
    if fits == 1 {
        return Err(Failure::Request("--refits 1: one fit says nothing of how fits differ\nGive 0 for none, or 2 and more; 200 unless said.".into()));
    }
    Ok(())
}

/// Fits tables that were fitted to a record again, for what the record's few years leave open.
pub(super) fn refit(
    study: &Study,
    deciders: &Deciders<'_>,
    fits: u64,
    found: &mut Findings,
) -> Result<(), Failure> {
    if fits == 0 || study.variants.iter().all(|variant| variant.plan.farm().fitted.is_none()) {
        return Ok(());
    }
    let bar = progress_bar(fits, "fits to years drawn anew");
    let mut progress = |done| bar.set_position(done);
    let hooks = Hooks { progress: Some(&mut progress), stop: Some(&STOP), ..Hooks::default() };
    let done = study.refit(deciders, Refits { fits, ..Refits::default() }, found, hooks);
    bar.finish_and_clear();
    Ok(done?)
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

/// A count of what `of` says, of which nobody knows how many there will be, on a terminal.
pub(super) fn counting(of: &str) -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
    match ProgressStyle::with_template(&format!("{{human_pos}} {of}, {{elapsed}}")) {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
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
