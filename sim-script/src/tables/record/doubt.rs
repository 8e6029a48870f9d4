//! Years that no place on earth has: the sign of a wrong unit where each day alone could be.

use sim_core::weather::{Quantity, Record};

/// Days of a year here; the last days of a record that do not fill one are not judged.
const YEAR_DAYS: usize = 365;
/// A year with fewer values is not judged.
const FEWEST_VALUES: usize = 330;

/// A year that cannot be.
pub(crate) struct Doubt {
    pub(crate) quantity: Quantity,
    /// The record's first and last day of it.
    pub(crate) days: (usize, usize),
    pub(crate) figure: f64,
    /// What the figure is of a day or a year.
    pub(crate) per: &'static str,
    /// What no place has.
    pub(crate) bound: String,
}

/// The least and the most yearly mean of a quantity, where one can be said, and whether it is said as a sum. Common
/// practice, no source: wider than what the hottest, wettest, windiest and darkest places have.
fn bounds(quantity: Quantity) -> Option<(f64, f64, bool)> {
    let none = f64::INFINITY;
    match quantity {
        Quantity::TemperatureMin | Quantity::TemperatureMean => Some((-none, 40.0, false)),
        // Deserts reach a yearly mean near 41 of the highest alone (from memory).
        Quantity::TemperatureMax => Some((-none, 50.0, false)),
        Quantity::Rain => Some((-none, 12_000.0, true)),
        Quantity::HumidityMean => Some((2.0, none, false)),
        Quantity::Wind => Some((-none, 25.0, false)),
        Quantity::Radiation => Some((0.5, 32.0, false)),
        _ => None,
    }
}

/// The first year of a record that cannot be.
pub(crate) fn doubt(record: &Record) -> Option<Doubt> {
    record.quantities().iter().find_map(|&quantity| {
        let (least, most, sum) = bounds(quantity)?;
        record.of(quantity)?.chunks_exact(YEAR_DAYS).enumerate().find_map(|(year, values)| {
            let values = values.iter().filter(|value| !value.is_nan());
            let count = values.clone().count();
            let total: f64 = values.sum();
            let scale = if sum { YEAR_DAYS as f64 } else { 1.0 };
            let figure = total / count as f64 * scale;
            let bound = match figure {
                _ if count < FEWEST_VALUES => return None,
                low if low < least => format!("so little as {least}"),
                high if high > most => format!("more than {most}"),
                _ => return None,
            };
            let per = if sum { "in the year" } else { "in the mean" };
            let first = year * YEAR_DAYS;
            Some(Doubt { quantity, days: (first, first + YEAR_DAYS - 1), figure, per, bound })
        })
    })
}
