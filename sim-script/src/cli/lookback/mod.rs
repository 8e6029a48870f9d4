//! `dryspell lookback`: a recorded year worked by the model, beside what the farm noted of it.
//!
//! The year is worked in [`year`], laid beside the diary in [`beside`]; what is said is in [`told`], what is written in
//! `tables::lookback`.

mod beside;
mod told;
mod year;

use super::args::LookbackArgs;
use super::load::{Loaded, load};
use super::plain::wrapped;
use super::{Failure, print, today};
use crate::script::{DecidedBy, Deciders};
use crate::tables::{self, LookbackOrigin};
use beside::beside;

pub(super) fn lookback(args: &LookbackArgs) -> Result<(), Failure> {
    let Loaded { script, spec, parameters, decides, .. } = load(&args.farm)?;
    let diary = today::diary(&args.diary)?;
    let (variant, number) = year::variant(spec, args)?;
    let farm = variant.plan.farm();
    let deciders = Deciders {
        variants: vec![DecidedBy {
            script: &script,
            set: &args.farm.set,
            farm,
            scripted: !decides.is_empty(),
        }],
    };
    // What is wrong with the diary is said before anything is worked.
    let noted = beside::noted(&diary, farm, args.year)?;
    let (worked, failed) = year::work(&variant, &deciders, &number);
    if args.trace {
        let mut text = Vec::new();
        let told = tables::Told { farm, year: Some(args.year), rows: &worked.log };
        tables::write_trace(&mut text, &told)?;
        print(&String::from_utf8_lossy(&text))?;
        return failed.map_or(Ok(()), |error| Err(error.into()));
    }
    if let Some(error) = failed {
        return Err(Failure::Stopped(format!(
            "{error}\nWith --trace you see what happened in that year until then."
        )));
    }
    let laid = beside(&noted, &worked);
    let mut text = told::told(&told::Told {
        args,
        farm,
        parameters: &parameters,
        diary: &diary,
        noted: &noted,
        laid: &laid,
        number: &number,
    });
    if let Some(folder) = &args.out {
        let origin = LookbackOrigin {
            farm: &farm.name,
            year: args.year,
            script: (script.name(), script.source()),
            parameters: super::work::settings(&parameters),
            diary: (diary.name(), diary.text()),
            record: year::record_words(farm),
        };
        let names = tables::write_lookback(folder, &origin, &beside::cells(&laid, farm, args.year))
            .map_err(Failure::Write)?;
        text.push('\n');
        wrapped(&mut text, &format!("Wrote {} into {}.", names.join(", "), folder.display()));
    }
    print(&text)
}
