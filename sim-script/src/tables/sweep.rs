//! sweep.csv: every operation at every value that was swept over. The rows of a value are a text that can be kept until
//! the rest is done.

use super::column::{Column, Kind, LOW_OF_CHANCE, Table, column};
use super::folder::{OutError, OutFolder};
use super::write::{chance, date_of};
use crate::words::number;
use sim_core::study::{ComparedRow, Comparison, PairedMean, PairedShare, Risk, Variant};

const STEP: &str = "The same against the value before: the row before it in the last parameter that is swept; empty for its first.";
const LOW: &str = "Lower end of its 95 % interval.";
const HIGH: &str = "Upper end of it.";

const fn text(name: &'static str, about: &'static str) -> Column {
    column(name, Kind::Text, "", about)
}

const fn number_of(name: &'static str, unit: &'static str, about: &'static str) -> Column {
    column(name, Kind::Number, unit, about)
}

/// The table.
pub(crate) const SWEEP: Table = Table {
    name: "sweep",
    about: "Each operation at each value of one or two parameters, all worked under the same skies; differences are below 0 where \
            this value is better.",
    columns: &[
        text("parameter_1", "The parameter that is swept."),
        text("value_1", "Its value."),
        text("parameter_2", "The second one; empty where only one is swept."),
        text("value_2", "Its value."),
        text("crop", "The crop."),
        text("operation", "The operation of the crop."),
        column("seasons", Kind::Whole, "seasons", "Seasons worked."),
        column(
            "due",
            Kind::Date,
            "",
            "Should be finished by the end of this day; empty where the window follows other work or moves with a stage.",
        ),
        number_of(
            "p_late",
            "1",
            "Chance that not all of its area is done by the end of the due day; unfinished counts as late.",
        ),
        number_of("p_late_low", "1", "Lower end of its 95 % interval (Wilson) for so many seasons."),
        number_of("p_late_high", "1", HIGH),
        number_of(
            "p_late_record_low",
            "1",
            "Lower end of the 95 % interval of p_late that so few recorded years leave, where years are worked as they were; else \
             empty.",
        ),
        number_of("p_late_record_high", "1", HIGH),
        number_of("p_unfinished", "1", "Chance that not all of its area is done at all."),
        column(
            "finish_p10",
            Kind::Date,
            "",
            "First day by which all is done in 10 of 100 seasons, unfinished counting as later than every day; never: there is \
             none; empty: too few seasons to support it.",
        ),
        column("finish_p50", Kind::Date, "", "The same for 50 of 100 seasons."),
        column("finish_p80", Kind::Date, "", "The same for 80 of 100 seasons."),
        column("finish_p90", Kind::Date, "", "The same for 90 of 100 seasons."),
        number_of(
            "days_late_mean",
            "d",
            "Mean days late over all seasons, 0 where not late, counted to the last day of its window where unfinished.",
        ),
        number_of("area_late_ha_mean", "ha", "Mean area not done by the end of the due day."),
        number_of("ha_days_late_mean", "ha d", "Mean of undone area over the time after the due day."),
        text(
            "pairs_are",
            "What the differences rest on: seasons; or years: recorded years that were worked as they were, each counted once. \
             Empty where the farm as it is has no such operation, and with it all from here to the step.",
        ),
        number_of("p_late_as_it_is", "1", "p_late of the farm as it is."),
        number_of("p_late_difference", "1", "Difference of p_late from that of the farm as it is."),
        number_of("p_late_difference_low", "1", LOW_OF_CHANCE),
        number_of("p_late_difference_high", "1", HIGH),
        number_of("days_late_difference", "d", "Mean difference in days late from the farm as it is."),
        number_of("days_late_difference_low", "d", "Lower end of its 95 % interval (paired t)."),
        number_of("days_late_difference_high", "d", HIGH),
        number_of("p_late_step", "1", STEP),
        number_of("p_late_step_low", "1", LOW),
        number_of("p_late_step_high", "1", HIGH),
        number_of("days_late_step", "d", STEP),
        number_of("days_late_step_low", "d", LOW),
        number_of("days_late_step_high", "d", HIGH),
    ],
};

/// What a study found at a value.
#[derive(Debug)]
pub(crate) struct AtValue<'a> {
    /// The parameters with their values, one or two.
    pub(crate) point: &'a [(String, String)],
    pub(crate) variant: &'a Variant,
    pub(crate) risks: &'a [Risk],
    /// Those of the farm as it is.
    pub(crate) as_it_is: &'a [Risk],
    /// Against the farm as it is.
    pub(crate) base: &'a Comparison,
    /// Against the value before.
    pub(crate) before: Option<&'a Comparison>,
}

impl AtValue<'_> {
    /// Its rows as they stand in the file.
    pub(crate) fn rows(&self) -> csv::Result<String> {
        let farm = self.variant.plan.farm();
        let mut csv = csv::Writer::from_writer(Vec::new());
        let (none, no_name) = ((String::new(), String::new()), String::new());
        let second = self.point.get(1).unwrap_or(&none);
        let first = self.point.first().unwrap_or(&none);
        for risk in self.risks {
            let row = &farm.rows[risk.row];
            let (low, high) = risk.p_late_interval();
            let of_record = risk.p_late_record_interval();
            let (record_low, record_high) =
                of_record.map_or_else(Default::default, |(low, high)| (chance(low), chance(high)));
            let finish = |percent| date_of(farm.span, risk.finish(percent));
            let of_row =
                |of: &Comparison| of.rows.iter().find(|compared| compared.variant == risk.row).copied();
            let base = of_row(self.base);
            let mut cells = vec![
                first.0.clone(),
                first.1.clone(),
                second.0.clone(),
                second.1.clone(),
                farm.crops[row.crop].clone(),
                row.operation.clone(),
                risk.seasons.to_string(),
                risk.due.map_or_else(String::new, |due| farm.span.date(due).to_string()),
                chance(risk.p_late()),
                chance(low),
                chance(high),
                record_low,
                record_high,
                chance(risk.p_unfinished()),
                finish(10),
                finish(50),
                finish(80),
                finish(90),
                number(risk.days_late_mean(), 4),
                number(risk.area_late_ha_mean(), 4),
                number(risk.ha_days_late_mean(), 4),
                match base {
                    Some(_) if self.base.years => "years".into(),
                    Some(_) => "seasons".into(),
                    None => no_name.clone(),
                },
                base.and_then(|base| self.as_it_is.iter().find(|risk| risk.row == base.base))
                    .map_or_else(String::new, |risk| chance(risk.p_late())),
            ];
            cells.extend(difference(base));
            cells.extend(difference(self.before.and_then(of_row)));
            csv.write_record(cells)?;
        }
        let bytes = csv.into_inner().map_err(|error| error.into_error())?;
        Ok(String::from_utf8_lossy(&bytes).into_owned())
    }
}

/// The differences in chance and days, each with its interval.
fn difference(row: Option<ComparedRow>) -> [String; 6] {
    let Some(ComparedRow { late, days_late, .. }) = row else { return Default::default() };
    let [share, low, high] = of_share(&late);
    let [mean, mean_low, mean_high] = of_mean(&days_late);
    [share, low, high, mean, mean_low, mean_high]
}

fn of_share(late: &PairedShare) -> [String; 3] {
    let (low, high) = late.interval();
    [chance(late.difference()), chance(low), chance(high)]
}

fn of_mean(mean: &PairedMean) -> [String; 3] {
    let ends = mean.interval().map_or_else(Default::default, |(low, high)| (number(low, 4), number(high, 4)));
    [number(mean.mean(), 4), ends.0, ends.1]
}

/// The records of some rows.
pub(crate) fn records(rows: &str) -> impl Iterator<Item = csv::Result<csv::StringRecord>> {
    csv::ReaderBuilder::new().has_headers(false).from_reader(rows.as_bytes()).into_records()
}

/// Where a column stands.
pub(crate) fn place(name: &str) -> Option<usize> {
    SWEEP.columns.iter().position(|column| column.name == name)
}

/// Writes sweep.csv from the rows of its values.
///
/// # Errors
///
/// When the file cannot be written.
pub(crate) fn write_sweep<'a>(
    out: &mut OutFolder,
    values: impl Iterator<Item = &'a str>,
) -> Result<(), OutError> {
    super::write::table(out, &SWEEP, |csv| {
        for rows in values {
            for record in records(rows) {
                csv.write_record(&record?)?;
            }
        }
        Ok(())
    })
}
