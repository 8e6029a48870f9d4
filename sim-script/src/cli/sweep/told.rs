//! What a sweep says on the terminal: how often the operations that hang most on the values are late, by value; whether
//! that falls steadily; from where on another step does nothing that could be told. All of it is read from the rows of
//! sweep.csv, so that it is the same whether a sweep was stopped in between or not.

use super::request::{Axis, Grid};
use super::rows::{Row, Step, rows_of};
use crate::cli::Failure;
use crate::cli::plain::{Fit, Plain, hanging, wrapped};
use crate::cli::summary::{side_by_side, years_worked};
use crate::script::Parameter;
use crate::words::{self, one_after_another, thousands};
use sim_core::study::Study;

/// The most operations that are shown unless asked for.
const SHOWN_MOST: usize = 10;

/// The most operations whose pairs of values are shown unless asked for.
const GRIDS_MOST: usize = 3;

/// The most values that stand beside each other.
const ACROSS: usize = 8;

/// The most values of the first of two parameters that stand below each other.
const DOWN: usize = 12;

/// A chance that hangs less on the values is left out unless asked for.
const LEAST: f64 = 0.01;

/// What is told.
pub(super) struct Told<'a> {
    /// The farm as it is.
    pub(super) study: &'a Study,
    pub(super) parameters: &'a [Parameter],
    pub(super) grid: &'a Grid,
    /// Whether the weather is the same at every value.
    pub(super) one_weather: bool,
    /// Whether to show every operation.
    pub(super) all: bool,
}

impl Told<'_> {
    /// The whole text, without what was written; values that are not done are left out.
    pub(super) fn text(&self, done: &[Option<String>]) -> Result<String, Failure> {
        let mut rows = rows_of(done)?;
        let farm = self.study.variants[0].plan.farm();
        let worked =
            format!("{} seasons at each value, seed {}", thousands(self.study.seasons), self.study.seed);
        let everywhere = self.one_weather.then_some("at every value");
        let swept: Vec<&str> = self.grid.axes.iter().map(|axis| axis.name.as_str()).collect();
        let mut text = side_by_side(farm, &worked, everywhere, self.parameters, &swept);
        for axis in &self.grid.axes {
            wrapped(&mut text, &axis_in_words(axis));
        }
        rows.sort_by(|one, other| other.range().total_cmp(&one.range()).then(one.name.cmp(&other.name)));
        let least = if self.all { 0.0 } else { LEAST };
        let count = rows.partition_point(|row| row.range() >= least);
        let most = if self.grid.axes.len() > 1 { GRIDS_MOST } else { SHOWN_MOST };
        let shown = if self.all { count } else { count.min(most) };
        text.push('\n');
        match self.grid.axes.as_slice() {
            [axis] if shown > 0 => self.one(&mut text, axis, &rows[..shown]),
            [first, second] if shown > 0 => {
                rows[..shown].iter().for_each(|row| self.two(&mut text, first, second, row));
            }
            _ => {}
        }
        left_out(&mut text, &rows[shown..], shown);
        let sureness = self.sureness(&rows[..shown]);
        if !sureness.is_empty() {
            text.push('\n');
            wrapped(&mut text, &sureness);
        }
        text.push('\n');
        wrapped(&mut text, words::CAUTION);
        Ok(text)
    }

    /// One parameter: a row for each operation, then how it goes from value to value.
    fn one(&self, text: &mut String, axis: &Axis, rows: &[Row]) {
        let across = across(axis.values.len(), axis.as_it_is, ACROSS);
        let header = |at: &usize| {
            let mark = if axis.as_it_is == Some(*at) { " *" } else { "" };
            (format!("\n{}{mark}", axis.values[*at]), Fit::Number)
        };
        let mut columns = vec![(format!("Years late in 100,\nby {}", axis.name), Fit::Text)];
        columns.extend(across.iter().map(header));
        if axis.as_it_is.is_none() {
            columns.push(("\nas it is".into(), Fit::Number));
        }
        let columns: Vec<(&str, Fit)> = columns.iter().map(|(name, fit)| (name.as_str(), *fit)).collect();
        let mut table = Plain::new(&columns);
        for row in rows {
            let mut cells = vec![row.name.clone()];
            cells.extend(across.iter().map(|at| hundred(row.at[*at].map(|at| at.p_late))));
            if axis.as_it_is.is_none() {
                cells.push(hundred(row.base()));
            }
            table.row(cells);
        }
        text.push_str(&table.text());
        if axis.as_it_is.is_some() {
            text.push_str("* the farm as it is\n");
        }
        if across.len() < axis.values.len() {
            let left = axis.values.len() - across.len();
            text.push_str(&format!(
                "{left} values more between them: sweep.csv has all of them (--out DIR).\n"
            ));
        }
        text.push('\n');
        let say = |row: &Row| if axis.rising { goes(axis, row) } else { best(axis, row) };
        grouped(text, rows, say);
    }

    /// Two parameters: a table for each operation.
    fn two(&self, text: &mut String, first: &Axis, second: &Axis, row: &Row) {
        let (down, across) = (
            across(first.values.len(), first.as_it_is, DOWN),
            across(second.values.len(), second.as_it_is, ACROSS),
        );
        let mark = |axis: &Axis, at: usize| if axis.as_it_is == Some(at) { " *" } else { "" };
        let mut columns =
            vec![(format!("{}\n{} down, {} across", row.name, first.name, second.name), Fit::Text)];
        columns.extend(
            across.iter().map(|at| (format!("\n{}{}", second.values[*at], mark(second, *at)), Fit::Number)),
        );
        let columns: Vec<(&str, Fit)> = columns.iter().map(|(name, fit)| (name.as_str(), *fit)).collect();
        let mut table = Plain::new(&columns);
        let width = second.values.len();
        let at = |one: usize, other: usize| row.at[one * width + other];
        for one in &down {
            let mut cells = vec![format!("{}{}", first.values[*one], mark(first, *one))];
            cells.extend(across.iter().map(|other| hundred(at(*one, *other).map(|at| at.p_late))));
            table.row(cells);
        }
        text.push_str(&table.text());
        let ends = |one: usize| {
            let (from, to) = (at(one, 0)?.p_late, at(one, width - 1)?.p_late);
            Some(format!(
                "with {} = {} it goes from {} to {}",
                first.name,
                first.values[one],
                hundred(Some(from)),
                hundred(Some(to))
            ))
        };
        if let (Some(low), Some(high)) = (ends(0), ends(first.values.len() - 1))
            && width > 1
            && first.values.len() > 1
        {
            let (from, to) = (&second.values[0], &second.values[width - 1]);
            wrapped(text, &format!("From {} = {from} to {to}: {low}, {high}.", second.name));
        }
        text.push('\n');
    }

    /// How sure all of it is.
    fn sureness(&self, rows: &[Row]) -> String {
        let every = || rows.iter().flat_map(|row| row.at.iter().flatten());
        let half = every().map(|at| at.half).fold(0.0, f64::max);
        let mut text = String::new();
        if every().next().is_some() {
            text.push_str(&format!("A figure is sure to {:.1} years in 100 or less (95 %)", half * 100.0));
            text.push_str(if self.one_weather {
                "; from value to value more is sure, since all see the same weather."
            } else {
                "."
            });
            if self.grid.axes.len() == 1 {
                text.push_str(
                    " Among so many steps, 1 in 20 to 1 in 10 that do nothing will still seem to do something.",
                );
            }
        }
        let Study { variants, seed, seasons, .. } = self.study;
        let years = years_worked(&variants[0], *seed, *seasons);
        text.push_str(&words::what_years_leave(variants[0].plan.farm(), years));
        text
    }
}

/// What an axis is, and what the farm as it is has.
fn axis_in_words(axis: &Axis) -> String {
    let count = axis.values.len();
    let values = match axis.values.as_slice() {
        [first, .., last] if axis.rising && count > 3 => format!("{count} values from {first} to {last}"),
        values => one_after_another(values),
    };
    format!("{}: {values}; the farm as it is has {}.", axis.name, axis.base)
}

/// Which values stand in a table: all, or so many spread over them with both ends and the farm as it is.
pub(super) fn across(count: usize, as_it_is: Option<usize>, most: usize) -> Vec<usize> {
    if count <= most {
        return (0..count).collect();
    }
    let mut shown: Vec<usize> =
        (0..most).map(|at| (at * (count - 1) + (most - 1) / 2) / (most - 1)).collect();
    if let Some(base) = as_it_is.filter(|base| !shown.contains(base)) {
        // In the place of the nearest that is no end.
        let inner = 1..most - 1;
        if let Some(nearest) = inner.min_by_key(|at| shown[*at].abs_diff(base)) {
            shown[nearest] = base;
        }
        shown.sort_unstable();
    }
    shown
}

fn hundred(chance: Option<f64>) -> String {
    chance.map_or_else(|| "-".into(), |chance| format!("{:.1}", chance * 100.0))
}

/// Operations of which the same is to be said, together.
fn grouped(text: &mut String, rows: &[Row], say: impl Fn(&Row) -> String) {
    let mut said: Vec<(String, Vec<&str>)> = Vec::new();
    for row in rows {
        let words = say(row);
        match said.iter_mut().find(|(other, _)| *other == words) {
            Some((_, names)) => names.push(&row.name),
            None => said.push((words, vec![&row.name])),
        }
    }
    for (words, names) in said {
        wrapped(text, &format!("{words}:"));
        hanging(text, "", 2, &format!("{}.", names.join("; ")));
    }
}

/// How an operation goes as the value grows.
fn goes(axis: &Axis, row: &Row) -> String {
    let at = |index: usize| axis.values[index].as_str();
    let steps: Option<Vec<Step>> = row.at.iter().skip(1).map(|at| at.as_ref()?.step).collect();
    match steps {
        Some(steps) => course(&steps, at),
        None => "Not done at every value".into(),
    }
}

/// What steps from value to value come to; step `i` goes from value `i` to value `i + 1`.
pub(super) fn course<'a>(steps: &[Step], value: impl Fn(usize) -> &'a str) -> String {
    let first = |of: Step| steps.iter().position(|step| *step == of);
    let last = |of: Step| steps.iter().rposition(|step| *step == of);
    let one_way = |word: &str, of: Step| {
        let end = last(of).map_or(0, |last| last + 1);
        let before = &steps[..end];
        let steady = before.iter().all(|step| *step == of);
        let to = value(end);
        let not_each = "though it is not told at every step";
        let falls = match (steady, end == steps.len()) {
            (true, true) => return format!("{word} with every step"),
            (false, true) => return format!("{word}, {not_each}"),
            (true, false) => format!("{word} with every step up to {to}"),
            (false, false) => format!("{word} up to {to}, {not_each}"),
        };
        format!("{falls}; from {to} on another step is not told apart from none")
    };
    match (first(Step::Fewer), first(Step::More)) {
        (None, None) => "No single step is told apart from none".into(),
        (Some(_), None) => one_way("Late less often", Step::Fewer),
        (None, Some(_)) => one_way("Late more often", Step::More),
        (Some(fewer), Some(more)) => {
            let (last_fewer, last_more) =
                (last(Step::Fewer).unwrap_or(fewer), last(Step::More).unwrap_or(more));
            if last_fewer < more {
                format!("Late less often up to {}, more often from {} on", value(last_fewer + 1), value(more))
            } else if last_more < fewer {
                format!("Late more often up to {}, less often from {} on", value(last_more + 1), value(fewer))
            } else {
                "Late now more, now less often from step to step".into()
            }
        }
    }
}

/// At which of values without an order it is late least often.
fn best(axis: &Axis, row: &Row) -> String {
    let known = || row.at.iter().enumerate().filter_map(|(index, at)| Some((index, at.as_ref()?)));
    let least = known().map(|(_, at)| at.p_late).fold(f64::INFINITY, f64::min);
    let names: Vec<&str> =
        known().filter(|(_, at)| at.p_late <= least).map(|(index, _)| axis.values[index].as_str()).collect();
    let open = known().filter(|(index, _)| axis.as_it_is != Some(*index)).all(|(_, at)| !at.apart);
    if open && row.base().is_some() {
        return "Not told apart from the farm as it is at any value".into();
    }
    format!("Late least often with {}", one_after_another(&names))
}

fn left_out(text: &mut String, rows: &[Row], shown: usize) {
    let most = rows.iter().map(Row::range).fold(0.0, f64::max);
    let by = format!("by {:.1} years in 100 at the most", most * 100.0);
    match (rows.len(), shown) {
        (0, _) => {}
        (1, 0) => text.push_str(&format!("The one operation hangs on it {by}. Show it with --all.\n")),
        (count, 0) => {
            text.push_str(&format!("All {count} operations hang on it {by}. Show them with --all.\n"));
        }
        (1, _) => text.push_str(&format!("1 other operation hangs on it {by}. Show it with --all.\n")),
        (count, _) => {
            text.push_str(&format!("{count} other operations hang on it {by}. Show them with --all.\n"));
        }
    }
}
