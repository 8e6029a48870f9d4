//! What a screening says on the terminal: which parameters matter to which operations, which way and how evenly, and
//! which do not.

use super::OfOperation;
use super::ranges::Screened;
use crate::cli::plain::{Fit, Plain, wrapped};
use crate::cli::summary::{side_by_side, years_worked};
use crate::script::Parameter;
use crate::words::{self, one_after_another, thousands};
use sim_core::study::Study;
use sim_core::study::screen::Effects;

/// A change in the chance of being late that is less counts as none: 1 year in 100.
const LEAST: f64 = 0.01;

/// A parameter that changes an operation by less than this part of what the first one does is left out unless asked
/// for.
const BESIDE_THE_FIRST: f64 = 0.1;

/// The most operations that are shown unless asked for.
const SHOWN_MOST: usize = 8;

/// Up to here sigma over mu* says that an effect is even, nearly the same everywhere; Garcia Sanchez D, Lacarriere B,
/// Musy M, Bourges B (2014), Application of sensitivity analysis in building energy simulations, Energy and Buildings
/// 68:741-750, takes 0.1 for linear, 0.5 for monotonic, 1 for almost monotonic (figures from memory).
const EVEN: f64 = 0.1;
const ONE_WAY: f64 = 0.5;
const MOSTLY: f64 = 1.0;

/// What is told.
pub(super) struct Told<'a> {
    /// The farm as it is.
    pub(super) study: &'a Study,
    pub(super) parameters: &'a [Parameter],
    pub(super) screened: &'a [Screened],
    pub(super) found: &'a [OfOperation],
    pub(super) farms: usize,
    /// Whether they all have one weather.
    pub(super) one_weather: bool,
    pub(super) trajectories: usize,
    /// Whether to show every operation.
    pub(super) all: bool,
}

/// What a parameter changes when it goes as far as its steps do: that is what was seen, and never more than 1.
#[derive(Debug, Clone, Copy)]
struct Change {
    parameter: usize,
    /// Mean size, in chances.
    size: f64,
    interval: Option<(f64, f64)>,
    /// Mean, with its sign.
    mean: f64,
    effects: Effects,
}

impl Change {
    fn new(parameter: usize, of: &Screened, operation: &OfOperation) -> Self {
        let effects = operation.effects[0][parameter];
        let step = of.levels.mean_step();
        let interval = effects.mu_star_interval.map(|(low, high)| (low * step, high * step));
        Self { parameter, size: effects.mu_star * step, interval, mean: effects.mu * step, effects }
    }

    /// The size in years of 100 with its direction, if it has one.
    fn years(&self, of: &Screened) -> String {
        let size = self.size * 100.0;
        // Where hardly any way goes against the others.
        let one_way = of.ordered() && self.mean.abs() >= 0.9 * self.size;
        match (one_way, self.mean < 0.0) {
            (true, true) => format!("{size:.0} fewer"),
            (true, false) => format!("{size:.0} more"),
            (false, _) => format!("{size:.0} either way"),
        }
    }

    /// The same in a sentence.
    fn in_words(&self, of: &Screened) -> String {
        match self.years(of).split_once(' ') {
            Some((size, "either way")) => format!("{size} years late in 100, either way,"),
            Some((size, word)) => {
                let years = if size == "1" { "year" } else { "years" };
                format!("{size} {word} {years} late in 100")
            }
            None => String::new(),
        }
    }

    /// How much the change hangs on where the others stand and from where the parameter is moved.
    fn how(&self) -> &'static str {
        match self.effects.sigma / self.effects.mu_star {
            _ if self.effects.count < 2 => "seen once",
            ratio if ratio <= EVEN => "evenly",
            ratio if ratio <= ONE_WAY => "nearly evenly",
            ratio if ratio <= MOSTLY => "unevenly",
            _ => "very unevenly",
        }
    }
}

impl Told<'_> {
    /// What the parameters change of an operation, the largest first.
    fn changes(&self, operation: &OfOperation) -> Vec<Change> {
        let of = |(index, of): (usize, &Screened)| Change::new(index, of, operation);
        let mut changes: Vec<Change> = self.screened.iter().enumerate().map(of).collect();
        changes
            .sort_by(|one, other| other.size.total_cmp(&one.size).then(one.parameter.cmp(&other.parameter)));
        changes
    }

    fn greatest(&self, operation: &OfOperation) -> f64 {
        self.changes(operation).first().map_or(0.0, |change| change.size)
    }

    /// The whole text, without what was written.
    pub(super) fn text(&self) -> String {
        let farm = self.study.variants[0].plan.farm();
        let worked = format!("seed {}", self.study.seed);
        let everywhere = self.one_weather.then_some("for every farm");
        let mut text = side_by_side(farm, &worked, everywhere, self.parameters, &[]);
        let ranges: Vec<String> =
            self.screened.iter().map(|of| format!("{} {}", of.name, of.in_words())).collect();
        wrapped(&mut text, &format!("Varied: {}.", ranges.join("; ")));
        wrapped(
            &mut text,
            &format!(
                "{} ways through these ranges, which move one parameter after another: {} farms, {} seasons each.",
                self.trajectories,
                thousands(self.farms as u64),
                thousands(self.study.seasons)
            ),
        );
        text.push('\n');
        let mut found: Vec<&OfOperation> =
            self.found.iter().filter(|of| self.greatest(of) >= LEAST).collect();
        found.sort_by(|one, other| {
            self.greatest(other).total_cmp(&self.greatest(one)).then(one.named.cmp(&other.named))
        });
        let shown = if self.all { found.len() } else { found.len().min(SHOWN_MOST) };
        self.parameters_in_brief(&mut text);
        if shown > 0 {
            text.push_str(&self.operations(&found[..shown]));
        }
        match (found.len() - shown, self.found.len() - found.len()) {
            (0, 0) => {}
            (0, none) => wrapped(&mut text, &format!("At {none} operations nothing moves 1 year in 100.")),
            (more, none) => wrapped(
                &mut text,
                &format!(
                    "{more} more are moved less: show them with --all. At {none} nothing moves 1 year in 100."
                ),
            ),
        }
        text.push('\n');
        let Study { variants, seed, seasons, .. } = self.study;
        let years = years_worked(&variants[0], *seed, *seasons);
        let left_open = words::what_years_leave(farm, years);
        wrapped(&mut text, &format!("{}{left_open}", reading(self.trajectories)));
        text.push('\n');
        wrapped(&mut text, words::CAUTION);
        text
    }

    /// Of each parameter how much it changes what it changes most; those that change nothing, by name.
    fn parameters_in_brief(&self, text: &mut String) {
        let mut brief: Vec<(&OfOperation, Change, usize)> = Vec::new();
        let mut nothing = Vec::new();
        for (index, of) in self.screened.iter().enumerate() {
            let change = |operation| Change::new(index, of, operation);
            let moved = || self.found.iter().filter(|operation| change(operation).size >= LEAST);
            let most = moved().max_by(|one, other| change(one).size.total_cmp(&change(other).size));
            match most {
                Some(most) => brief.push((most, change(most), moved().count())),
                None => nothing.push(of.name.as_str()),
            }
        }
        brief.sort_by(|one, other| {
            other.1.size.total_cmp(&one.1.size).then(one.1.parameter.cmp(&other.1.parameter))
        });
        for (most, change, count) in brief {
            let others = match count {
                1 => String::new(),
                2 => ", and changes 1 other operation".into(),
                count => format!(", and changes {} other operations", count - 1),
            };
            let of = &self.screened[change.parameter];
            wrapped(
                text,
                &format!(
                    "{} matters most to {}: {} when it goes {}{others}.",
                    of.name,
                    name(most),
                    change.in_words(of),
                    how_far(of),
                ),
            );
        }
        if !nothing.is_empty() {
            let (changes, its) =
                if nothing.len() == 1 { ("changes", "its range") } else { ("change", "their ranges") };
            wrapped(
                text,
                &format!(
                    "{} {changes} no operation by 1 year in 100 within {its}.",
                    one_after_another(&nothing)
                ),
            );
        }
        text.push('\n');
    }

    fn operations(&self, found: &[&OfOperation]) -> String {
        let mut table = Plain::new(&[
            ("\nOperation", Fit::Text),
            ("Late in 100 years,\nall farms", Fit::Whole),
            ("\nParameter", Fit::Whole),
            ("Changes it by years\nin 100 (size, 95 %)", Fit::Whole),
            ("\nHow", Fit::Whole),
        ]);
        for of in found {
            let changes = self.changes(of);
            let first = changes.first().map_or(0.0, |change| change.size);
            let least = if self.all { LEAST } else { LEAST.max(BESIDE_THE_FIRST * first) };
            for (place, change) in changes.iter().take_while(|change| change.size >= least).enumerate() {
                let parameter = &self.screened[change.parameter];
                let (low, high) = of.p_late;
                let first = place == 0;
                let years = change.years(parameter);
                table.row([
                    if first { name(of) } else { String::new() },
                    if first { format!("{:.0} to {:.0}", low * 100.0, high * 100.0) } else { String::new() },
                    parameter.name.clone(),
                    match change.interval {
                        Some((low, high)) => format!("{years} ({:.0} to {:.0})", low * 100.0, high * 100.0),
                        None => years,
                    },
                    change.how().into(),
                ]);
            }
        }
        table.text()
    }
}

/// How far a parameter goes in one move.
fn how_far(of: &Screened) -> String {
    match (of.ordered(), of.values.as_slice()) {
        (true, [from, to]) => format!("from {from} to {to}"),
        (true, _) => {
            let (from, to) = of.ends();
            match of.levels.mean_step() {
                step if (step - 2.0 / 3.0).abs() < 1e-9 => {
                    format!("two thirds of the way from {from} to {to}")
                }
                0.5 => format!("half of the way from {from} to {to}"),
                step => format!("{:.0} % of the way from {from} to {to}", step * 100.0),
            }
        }
        (false, _) => "from one of its values to another".into(),
    }
}

fn name(of: &OfOperation) -> String {
    format!("{}, {}", of.named.1, of.named.0)
}

/// How to read it.
fn reading(trajectories: usize) -> String {
    // If sizes were normal, an interval of 2.5 % and 97.5 % of means drawn anew would hold the mean as often as
    // Student's t is within 1.96 sqrt(1 - 1/n): of 5 ways 85, of 15 92 and of 30 94 times in 100.
    let too_narrow = match trajectories {
        ..8 => " Over so few ways these intervals are much too narrow.",
        8..30 => " Over so few ways these intervals are a little too narrow.",
        _ => "",
    };
    format!(
        "Changes it: how many years late in 100 it is more or fewer, on average over {trajectories} ways, when the parameter is moved \
         up by half of its levels (of the usual four that is two thirds of its range), all else left as it is; in brackets the size \
         with its 95 % interval over such ways.{too_narrow} Unevenly: how much it changes hangs on where the others stand, so that they act \
         together, or the parameter does more at one end of its range than at the other. For how an operation goes from value to \
         value, sweep the parameter: `dryspell sweep`."
    )
}
