//! `dryspell compare --best`: which farm is least often late, worked out with seasons for those only that can still be
//! it.

use super::with::{Farm, differ};
use crate::cli::Failure;
use crate::cli::plain::{Fit, Plain, wrapped};
use crate::cli::summary::{one_weather, side_by_side};
use crate::cli::today;
use crate::cli::work::{MOST_SEASONS, STOP, all_of, counting, some_of};
use crate::script::{Deciders, Parameter};
use crate::words::{self, number, one_after_another, operation, row_of, thousands, years_in_100};
use sim_core::season::Outcome;
use sim_core::study::{BATCH, Chosen, Hooks, SelectionRule, Study};

/// The chance of leaving another than the best, where that is better by what is worth knowing.
const ERROR: f64 = 0.05;

/// Batches of every farm before one drops out. With fewer the variance is so unsure that later ones make up for it.
const FIRST_BATCHES: u64 = 20;

/// What a farm is best at.
pub(super) enum Best {
    /// Late least often with an operation, which is this row of each variant.
    Operation { name: String, rows: Vec<usize> },
    /// The fewest operations late in a season.
    Farm,
}

/// What is asked for, in `--best` and `--worth-knowing`.
pub(super) struct Wanted {
    best: Best,
    zone: f64,
    rule: SelectionRule,
}

impl Best {
    /// Reads it: a row that every farm has, or `farm`.
    fn read(text: &str, study: &Study) -> Result<Self, Failure> {
        if text.trim() == "farm" {
            return Ok(Self::Farm);
        }
        let farm = |variant: usize| study.variants[variant].plan.farm();
        let row = row_of(farm(0), text).map_err(|help| {
            Failure::Request(format!(
                "--best {text}: the farm has no such operation\n{help} For all of them write `farm`."
            ))
        })?;
        let name = operation(farm(0), row);
        let of = |variant: usize| {
            row_of(farm(variant), &name).map_err(|_| {
                Failure::Request(format!(
                    "--best {text}: the farm with {} does not do it\nName an operation that all do, or write `farm`.",
                    study.variants[variant].name
                ))
            })
        };
        let rows = (0..study.variants.len()).map(of).collect::<Result<_, _>>()?;
        Ok(Self::Operation { name, rows })
    }

    /// What it is of a season.
    fn measure(&self, variant: usize, outcome: &Outcome) -> f64 {
        match self {
            Self::Operation { rows, .. } => f64::from(u8::from(outcome.rows[rows[variant]].late)),
            Self::Farm => outcome.rows.iter().filter(|row| row.late).count() as f64,
        }
    }

    /// A difference that is worth knowing unless it is said.
    fn zone(&self) -> f64 {
        match self {
            Self::Operation { .. } => 0.02,
            Self::Farm => 0.1,
        }
    }

    /// A mean as a figure.
    fn figure(&self, mean: f64) -> String {
        match self {
            Self::Operation { .. } => format!("{:.1}", mean * 100.0),
            Self::Farm => format!("{mean:.2}"),
        }
    }
}

/// What is asked for, of these farms.
pub(super) fn wanted(best: &str, worth_knowing: Option<f64>, study: &Study) -> Result<Wanted, Failure> {
    let best = Best::read(best, study)?;
    if let Some(years) = study.variants.iter().find_map(|variant| variant.weather.recorded()) {
        return Err(Failure::Request(format!(
            "--best: these farms are worked in {} recorded years, which never become more\nLeave --best out: every year \
             is then worked with every farm, and that is all that the record can tell.",
            years.years().len()
        )));
    }
    let zone = worth_knowing.unwrap_or_else(|| best.zone());
    if matches!(best, Best::Operation { .. }) && zone >= 0.5 {
        return Err(Failure::Request(format!(
            "--worth-knowing {zone}: of how often an operation is late, give a chance below 0.5\nFor example 0.02, which \
             is 2 years in 100."
        )));
    }
    let first = FIRST_BATCHES * BATCH;
    if study.seasons < first {
        return Err(Failure::Request(format!(
            "--seasons {}: to choose, every farm is worked for {} seasons first\nGive at least {first}, or leave it out: \
             then at most {} are worked.",
            study.seasons,
            thousands(first),
            thousands(MOST_SEASONS)
        )));
    }
    let rule = SelectionRule::new(zone, ERROR, FIRST_BATCHES)
        .map_err(|error| Failure::Request(format!("--worth-knowing: {error}")))?;
    Ok(Wanted { best, zone, rule })
}

/// Works the farms, and says which is left.
pub(super) fn choose(
    wanted: &Wanted,
    study: &Study,
    deciders: &Deciders<'_>,
    parameters: &[Parameter],
    farms: &[Farm],
) -> Result<(), Failure> {
    let bar = counting("seasons");
    let mut progress = |done| bar.set_position(done);
    let hooks = Hooks { progress: Some(&mut progress), stop: Some(&STOP), ..Hooks::default() };
    let measure = |variant: usize, outcome: &Outcome| wanted.best.measure(variant, outcome);
    let chosen = study.choose(deciders, wanted.rule, &measure, hooks);
    bar.finish_and_clear();
    let chosen = chosen?;
    some_of(chosen.seasons)?;
    crate::cli::print(&told(wanted, study, parameters, farms, &chosen))?;
    // What ends for want of seasons has worked whole batches.
    let asked = if chosen.made { chosen.seasons } else { study.seasons / BATCH * BATCH };
    all_of(chosen.seasons, asked)
}

/// The whole text.
fn told(of: &Wanted, study: &Study, parameters: &[Parameter], farms: &[Farm], chosen: &Chosen) -> String {
    let base = study.variants[0].plan.farm();
    let seasons = thousands(chosen.seasons);
    let worked = format!("up to {seasons} seasons, seed {}", study.seed);
    let everywhere = one_weather(study).then_some("for every farm");
    let mut text = side_by_side(base, &worked, everywhere, parameters, &differ(farms));
    today::told(&mut text, &study.variants[0].plan);
    let name = |variant: usize| match variant.checked_sub(1) {
        None => "the farm as it is".to_string(),
        Some(other) => farms[other].name.clone(),
    };
    let (question, column) = match &of.best {
        Best::Operation { name, .. } => {
            (format!("Which farm is late least often with {name}?"), "Years late\nin 100")
        }
        Best::Farm => {
            ("Which farm has the fewest operations late in a season?".into(), "Operations late\nin a season")
        }
    };
    text.push_str(&format!("\n\x1b[1m{question}\x1b[0m\n\n"));
    let mut table = Plain::new(&[
        ("\nFarm", Fit::Text),
        (column, Fit::Number),
        ("\nSeasons", Fit::Number),
        ("", Fit::Text),
    ]);
    for variant in &chosen.left {
        table.row([name(*variant), of.best.figure(chosen.means[*variant]), seasons.clone(), "left".into()]);
    }
    for dropped in chosen.dropped.iter().rev() {
        table.row([
            name(dropped.variant),
            of.best.figure(chosen.means[dropped.variant]),
            thousands(dropped.seasons),
            format!("dropped out, {} having {}", name(dropped.behind), of.best.figure(dropped.least_mean)),
        ]);
    }
    text.push_str(&table.text());
    text.push('\n');
    wrapped(&mut text, &outcome(of, chosen, &chosen.left.iter().map(|left| name(*left)).collect::<Vec<_>>()));
    let equally = chosen.seasons * study.variants.len() as u64;
    let mut effort =
        format!("{} seasons were worked, those of every farm counted", thousands(chosen.season_runs));
    if chosen.season_runs < equally {
        effort.push_str(&format!("; all farms for as long would have been {}", thousands(equally)));
    }
    if !chosen.dropped.is_empty() {
        effort.push_str(
            ". A farm that dropped out did so when it looked bad: by how much farms differ, `dryspell compare` says without \
             --best",
        );
    }
    // No recorded years come here.
    effort.push_str(&format!(".{}", words::what_years_leave(base, 0)));
    wrapped(&mut text, &effort);
    text.push('\n');
    wrapped(&mut text, words::CAUTION);
    text
}

/// Who is left, and how sure that is.
fn outcome(of: &Wanted, chosen: &Chosen, left: &[String]) -> String {
    let zone = match &of.best {
        Best::Operation { .. } => years_in_100(of.zone, 4),
        Best::Farm => format!("{} operations a season", number(of.zone, 4)),
    };
    let all = one_after_another(left);
    if !chosen.made {
        return format!(
            "{} seasons are not enough to choose between {all}. More (--seasons) would do it, or a larger difference that \
             is worth knowing (--worth-knowing), which is {zone} now.",
            thousands(chosen.seasons)
        );
    }
    let who = match left {
        [_] => format!("Left: {all}."),
        _ => format!("Left: {all}, which these seasons give the very same figure."),
    };
    format!(
        "{who} If one of these farms is better than every other by {zone} or more, it is the one left in at least 95 of \
         100 such choices; among farms that are nearer than that to the best, any may be left (procedure of Kim and Nelson \
         2001, on means of {BATCH} seasons)."
    )
}
