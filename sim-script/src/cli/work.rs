//! What commands that work seasons share: the seasons themselves with their progress, Ctrl-C, the tables of a study.

use super::Failure;
use super::args::WorkArgs;
use super::summary;
pub(super) use crate::script::BASE;
use crate::script::{Deciders, Parameter, Script};
use crate::tables::{self, Origin, OutFolder, SeasonsTable, Setting};
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

/// A study of some farms: as many seasons as are asked for, else each recorded year of the first once, else
/// [`SEASONS`].
pub(super) fn study(variants: Vec<Variant>, seasons: Option<u64>, args: &WorkArgs) -> Study {
    let all = variants.first().and_then(|variant| variant.weather.all_seasons());
    let cores = || std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    Study {
        variants,
        seasons: seasons.or(all).unwrap_or(SEASONS),
        seed: args.seed,
        threads: args.threads.map_or_else(cores, usize::from),
    }
}

/// The folder that tables are asked for in.
pub(super) fn open(args: &WorkArgs) -> Result<Option<OutFolder>, Failure> {
    args.out.as_deref().map(OutFolder::open).transpose().map_err(Failure::Out)
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

/// The seasons asked for, or the most that are worked where what they tell decides how many; nothing where neither is.
pub(super) fn seasons_asked(given: Option<u64>, until_enough: bool) -> Option<u64> {
    given.or(until_enough.then_some(MOST_SEASONS))
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

/// Works the seasons for risks and for what every farm has more or less than the first; what machines and people are
/// used for is left out.
pub(super) fn work_without_use(study: &Study, deciders: &Deciders<'_>) -> Result<Findings, Failure> {
    let bar = progress_bar(study.seasons, "seasons");
    let mut progress = |done| bar.set_position(done);
    let hooks = Hooks { progress: Some(&mut progress), stop: Some(&STOP), ..Hooks::default() };
    let against_the_first: Vec<(usize, usize)> = (1..study.variants.len()).map(|of| (0, of)).collect();
    let found = study.run_pairs(deciders, &against_the_first, hooks);
    bar.finish_and_clear();
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

/// What the tables of a study were made from, of which so many seasons were worked; in what its variants differ, when
/// enough was known, what was traced and what was varied is left open.
pub(super) fn origin<'a>(
    study: &'a Study,
    script: &'a Script,
    parameters: &[Parameter],
    seasons: u64,
) -> Origin<'a> {
    Origin {
        variants: &study.variants,
        script: script.name(),
        source: script.source(),
        parameters: settings(parameters),
        changes: Vec::new(),
        seed: study.seed,
        seasons,
        asked: study.seasons,
        until: None,
        traced: None,
        varied: Vec::new(),
    }
}

/// Parameters as the descriptor has them.
pub(super) fn settings(parameters: &[Parameter]) -> Vec<Setting> {
    let setting = |parameter: &Parameter| Setting {
        name: parameter.name.clone(),
        value: parameter.value.to_string(),
        default: parameter.default.to_string(),
    };
    parameters.iter().map(setting).collect()
}

/// Gives the tables their names, and says in a line what was written.
pub(super) fn finish(out: OutFolder, origin: &Origin<'_>) -> Result<String, Failure> {
    let folder = out.path().display().to_string();
    let names = out.finish(origin).map_err(Failure::Write)?;
    Ok(summary::written(&folder, &names))
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
