//! sensitivity.csv: what each parameter does to each operation.

use super::column::{Kind, Table, column};
use super::folder::{OutError, OutFolder};
use crate::words::number;
use sim_core::study::screen::Effects;

/// The table.
pub(crate) const SENSITIVITY: Table = Table {
    name: "sensitivity",
    about: "Elementary effects (Morris 1991): what moving one parameter does to an operation, over ways through the ranges of all; \
            of p_late in chances (0 to 1), of days_late_mean in days.",
    columns: &[
        column("parameter", Kind::Text, "", "The parameter."),
        column("from", Kind::Text, "", "The beginning of its range; of texts all of them."),
        column("to", Kind::Text, "", "The end of its range; empty for three texts or more."),
        column("crop", Kind::Text, "", "The crop."),
        column("operation", Kind::Text, "", "The operation of the crop."),
        column(
            "response",
            Kind::Text,
            "",
            "p_late: the chance that not all of its area is done by the end of the due day; days_late_mean: mean days late over all \
             seasons.",
        ),
        column("effects", Kind::Whole, "", "Ways in which both farms of the step had the operation."),
        column(
            "mu",
            Kind::Number,
            "",
            "Mean effect, for the whole range; empty for three texts or more, which have no order.",
        ),
        column(
            "mu_star",
            Kind::Number,
            "",
            "Mean size of the effect, for the whole range (Campolongo, Cariboni and Saltelli 2007).",
        ),
        column(
            "mu_star_low",
            Kind::Number,
            "",
            "Lower end of its 95 % interval, from the ways drawn anew; empty from fewer than two.",
        ),
        column("mu_star_high", Kind::Number, "", "Upper end of it."),
        column(
            "sigma",
            Kind::Number,
            "",
            "Standard deviation of the effect between ways: large beside mu_star where the parameter acts together with others or \
             bends.",
        ),
    ],
};

/// A row.
#[derive(Debug)]
pub(crate) struct Row<'a> {
    pub(crate) parameter: &'a str,
    pub(crate) from: &'a str,
    pub(crate) to: &'a str,
    /// Whether the parameter's values have an order.
    pub(crate) ordered: bool,
    pub(crate) crop: &'a str,
    pub(crate) operation: &'a str,
    pub(crate) response: &'a str,
    pub(crate) effects: Effects,
}

/// Writes sensitivity.csv.
///
/// # Errors
///
/// When the file cannot be written.
pub(crate) fn write_sensitivity<'a>(
    out: &mut OutFolder,
    rows: impl Iterator<Item = Row<'a>>,
) -> Result<(), OutError> {
    super::write::table(out, &SENSITIVITY, |csv| {
        for row in rows {
            let of = row.effects;
            let (low, high) = of
                .mu_star_interval
                .map_or_else(Default::default, |(low, high)| (number(low, 6), number(high, 6)));
            csv.write_record([
                row.parameter,
                row.from,
                row.to,
                row.crop,
                row.operation,
                row.response,
                &of.count.to_string(),
                &if row.ordered { number(of.mu, 6) } else { String::new() },
                &number(of.mu_star, 6),
                &low,
                &high,
                &number(of.sigma, 6),
            ])?;
        }
        Ok(())
    })
}
