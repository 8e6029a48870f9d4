//! What looking back on a year says on the terminal.

use super::beside::{Laid, Noted};
use super::year::SeasonNumber;
use crate::cli::args::LookbackArgs;
use crate::cli::load::changes;
use crate::cli::plain::{Fit, Plain, wrapped};
use crate::cli::summary::{due_text, heading};
use crate::script::{Diary, Parameter};
use crate::words::{self, day_month, number};
use sim_core::farm::Farm;

/// What is told.
pub(super) struct Told<'a> {
    pub(super) args: &'a LookbackArgs,
    pub(super) farm: &'a Farm,
    pub(super) parameters: &'a [Parameter],
    pub(super) diary: &'a Diary,
    pub(super) noted: &'a Noted,
    pub(super) laid: &'a [Laid<'a>],
    pub(super) number: &'a SeasonNumber,
}

/// So many operations are too few to say which way a model errs.
const FEW: usize = 4;

/// The whole text, without what was written.
pub(super) fn told(of: &Told<'_>) -> String {
    let (farm, year) = (of.farm, of.args.year);
    let mut text = format!("{}; the year {year}\n", heading(farm));
    wrapped(
        &mut text,
        &format!(
            "What {} notes of it, beside what the model does with the days that it had.",
            of.diary.name()
        ),
    );
    let changed = changes(of.parameters);
    if !changed.is_empty() {
        wrapped(&mut text, &format!("Set: {changed}."));
    }
    text.push('\n');
    if !of.laid.is_empty() {
        text.push_str(&table(farm, of.laid));
        text.push('\n');
    }
    for line in on_the_whole(of.laid) {
        wrapped(&mut text, &line);
    }
    if !of.noted.left_out.is_empty() {
        let names = words::one_after_another(&of.noted.left_out);
        wrapped(&mut text, &format!("Not compared, since not all of it was finished: {names}."));
    }
    text.push('\n');
    wrapped(&mut text, &trace_words(of));
    text.push('\n');
    wrapped(&mut text, words::CAUTION);
    text
}

fn table(farm: &Farm, laid: &[Laid<'_>]) -> String {
    let mut table = Plain::new(&[
        ("Operation", Fit::Text),
        ("Due", Fit::Whole),
        ("The farm", Fit::Whole),
        ("The model", Fit::Whole),
        ("The model is", Fit::Whole),
        ("It waited\nmostly for", Fit::Whole),
    ]);
    for of in laid {
        let row = &farm.rows[of.noted.row];
        let on = of.noted.field.as_ref().map_or_else(String::new, |field| format!(", {field}"));
        let day = |day| day_month(farm.span.date(day));
        table.row([
            format!("{}, {}{on}", row.operation, farm.crops[row.crop]),
            due_text(farm, row),
            day(of.noted.day),
            of.model_day.map_or_else(|| "never".into(), day),
            apart_words(of.apart()),
            of.waited().map_or_else(
                || "nothing".into(),
                |(cause, hours, all)| format!("{} {} %", cause.name(), number(hours / all * 100.0, 0)),
            ),
        ]);
    }
    table.text()
}

fn days(count: f64) -> String {
    format!("{} {}", number(count, 1), if count == 1.0 { "day" } else { "days" })
}

fn apart_words(apart: Option<i64>) -> String {
    match apart {
        None => "never done".into(),
        Some(0) => "the same day".into(),
        Some(days) if days < 0 => format!("{} d earlier", -days),
        Some(days) => format!("{days} d later"),
    }
}

/// The middle one of some numbers, or the mean of the middle two.
fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    match values.len() {
        0 => 0.0,
        odd if odd % 2 == 1 => values[middle],
        _ => (values[middle - 1] + values[middle]) / 2.0,
    }
}

/// How far model and farm are apart on the whole, and which way the model errs.
fn on_the_whole(laid: &[Laid<'_>]) -> Vec<String> {
    let apart: Vec<i64> = laid.iter().filter_map(Laid::apart).collect();
    if apart.is_empty() {
        return vec![
            "There is nothing to compare: no operation was finished both by the farm and by the model."
                .into(),
        ];
    }
    let earlier = apart.iter().filter(|days| **days < 0).count();
    let later = apart.iter().filter(|days| **days > 0).count();
    let never = laid.len() - apart.len();
    let mut line = format!(
        "Of {} the model has {earlier} done earlier than the farm, {} on the same day and {later} later",
        if laid.len() == 1 { "1 operation".into() } else { format!("{} operations", laid.len()) },
        apart.len() - earlier - later,
    );
    if never > 0 {
        line.push_str(&format!("; {never} it never finishes"));
    }
    let absolute: Vec<f64> = apart.iter().map(|days| days.unsigned_abs() as f64).collect();
    let mean = absolute.iter().sum::<f64>() / absolute.len() as f64;
    line.push_str(&format!(
        ". They are {} apart in the middle (median) and {} on average.",
        days(median(absolute)),
        days(mean)
    ));
    let mut lines = vec![line];
    let middle = median(apart.iter().map(|days| *days as f64).collect());
    if apart.len() < FEW {
        lines.push("So few operations do not say which way the model errs.".into());
    } else if earlier > 2 * (later + never) && middle < 0.0 {
        lines.push(format!(
            "The model is mostly early, by {} in the middle: its work rates, hours or suitable days are kinder than the farm's \
             were, and the risks that it gives are then too low. Look first at efficiencies, at hours that go into other \
             work, and at the rules for a suitable day.",
            days(-middle)
        ));
    } else if later + never > 2 * earlier && (middle > 0.0 || never > apart.len()) {
        lines.push(format!(
            "The model is mostly late, by {} in the middle: its work rates, hours or suitable days are harder than the farm's \
             were, or the farm had help that the script does not know; the risks that it gives are then too high.",
            days(middle.max(0.0))
        ));
    } else {
        lines.push("The model is early about as often as late.".into());
    }
    lines.push("It is one year: lay others beside it before you trust or change the script.".into());
    lines
}

/// How to look inside the year.
fn trace_words(of: &Told<'_>) -> String {
    let mut text = String::from("The same command with --trace tells the model's year event by event");
    if of.number.by_script {
        let script =
            of.args.farm.script.as_ref().map_or_else(String::new, |path| format!(" {}", path.display()));
        text.push_str(&format!(
            "; in `dryspell run{script}` {} is season {}, so --trace {} shows it",
            of.args.year, of.number.index, of.number.index
        ));
    }
    text.push('.');
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_middle_of_numbers() {
        assert_eq!(median(vec![]), 0.0);
        assert_eq!(median(vec![3.0]), 3.0);
        assert_eq!(median(vec![5.0, -1.0, 2.0]), 2.0);
        assert_eq!(median(vec![4.0, 1.0, 2.0, 9.0]), 3.0);
    }
}
