//! Working until enough is known: what cannot be asked, and what is said of it in the end.

use super::Failure;
use super::plain::wrapped;
use super::work;
use crate::words::{about, operation, thousands, years_in_100};
use sim_core::study::{Findings, HalfWidth, Study, Variant};

/// Recorded years never become more: an interval that rests on them cannot be waited for.
pub(super) fn check(until: Option<HalfWidth>, variants: &[Variant]) -> Result<(), Failure> {
    let recorded = variants.iter().find_map(|variant| variant.weather.recorded());
    match (until, recorded) {
        (Some(until), Some(recorded)) => Err(Failure::Request(format!(
            "--until-halfwidth {}: the weather is that of {} recorded years, and no number of seasons narrows what so few \
             years leave open\nLeave it out. Seasons without end there are where days are drawn, from \
             table(\"record.csv\") too; their interval is then that of the simulation alone.",
            until.at_most(),
            recorded.years().len()
        ))),
        _ => Ok(()),
    }
}

/// How many seasons it took, or that they did not suffice; nothing where it was not asked for.
pub(super) fn told(until: Option<HalfWidth>, study: &Study, found: &Findings) -> String {
    let (Some(until), Some(widest)) = (until, found.widest()) else { return String::new() };
    let compared = !found.comparisons.is_empty();
    let variant = &study.variants[widest.variant];
    // A comparison's row is the base's.
    let farm = if compared { study.variants[0].plan.farm() } else { variant.plan.farm() };
    let name = operation(farm, widest.row);
    let at = if study.variants.len() > 2 { format!("{name} with {}", variant.name) } else { name };
    let of = if compared { "difference in the chance of being late" } else { "chance of being late" };
    let (wanted, reached) = (years_in_100(until.at_most(), 2), years_in_100(widest.half_width, 2));
    let seasons = thousands(found.seasons);
    let mut text = if found.narrow {
        format!(
            "Ended after {seasons} seasons: by then no 95 % interval of a {of} reaches further than {wanted} to either side. \
             The widest, of {at}, reaches {reached}."
        )
    } else {
        // Half-widths go with the root of the seasons.
        let times = widest.half_width / until.at_most();
        let needed = (found.seasons as f64 * times * times).ceil() as u64;
        format!(
            "{seasons} seasons are not enough: the 95 % interval of the {of} of {at} still reaches {reached} to either side, \
             not {wanted}. It would take about {} (--seasons).",
            about(needed)
        )
    };
    if let Some(fitted) = study.variants.iter().find_map(|variant| variant.plan.farm().fitted.as_ref()) {
        text.push_str(&format!(
            " That is the simulation's part; what the {} years that the table was fitted to leave open is not narrowed by \
             seasons.",
            fitted.years()
        ));
    }
    let mut lines = String::from("\n");
    wrapped(&mut lines, &text);
    lines
}

/// A study that was stopped says so after all that it found; one that knew enough was not stopped.
pub(super) fn all_of(found: &Findings, asked: u64) -> Result<(), Failure> {
    if found.narrow { Ok(()) } else { work::all_of(found.seasons, asked) }
}
