//! The commands and their options: the one place where each is said.

use crate::script::DiaryDay;
use clap::builder::{PossibleValuesParser, TypedValueParser as _};
use clap::{Parser, Subcommand};
use sim_core::study::HalfWidth;
use sim_core::weather::{MachineWeight, MonthDay};
use std::path::PathBuf;

/// How likely is each operation of a cereal farm's year to finish late, why, and what would lower that risk?
#[derive(Debug, Parser)]
#[command(name = "dryspell", version, max_term_width = 100)]
pub(super) struct Args {
    #[command(subcommand)]
    pub(super) command: Command,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Work the farm through many seasons, and say how likely each operation is to finish late
    Run(RunArgs),
    /// Work farms that differ in some parameters under the same skies, and say which is better at what
    Compare(CompareArgs),
    /// Work a recorded year, and lay the model's dates beside those on which the farm really finished
    Lookback(LookbackArgs),
    /// Work the farm at many values of one or two parameters, and say how each operation goes from value to value
    Sweep(SweepArgs),
    /// Vary many parameters within their ranges, and say which of them matter to which operations
    Sensitivity(SensitivityArgs),
    /// Say which one step that can be bought, hired or decided lowers the risk most, and for what cost
    Relief(ReliefArgs),
    /// Read a farm and say what was understood
    Check(CheckArgs),
    /// Judge a daily record: which days suit which work, how they hang together, how the years differ
    Days(DaysArgs),
    /// Write a farm to start from, with comments, into a folder
    New(NewArgs),
    /// Show every word of a script with its keys, units and an example, or only what is asked for
    Reference(ReferenceArgs),
    /// Write what a shell needs to complete the program's commands and options
    Completions(CompletionsArgs),
}

/// The farm, and changes to its parameters.
#[derive(Debug, clap::Args)]
pub(super) struct FarmArgs {
    /// The script that describes the farm [default: the demo farm, which is built in]
    pub(super) script: Option<PathBuf>,
    /// Set a parameter of the script; can be given several times
    #[arg(long, value_name = "NAME=VALUE", value_parser = setting)]
    pub(super) set: Vec<(String, String)>,
}

/// How seasons are worked, and where their tables go.
#[derive(Debug, clap::Args)]
pub(super) struct WorkArgs {
    /// The seed of the weather: the same seed gives the same years
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub(super) seed: u64,
    /// How many threads to use; the results are the same for any number [default: as many as there are cores]
    #[arg(long, value_name = "T", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub(super) threads: Option<u16>,
    /// Write tables (CSV) and their descriptor into this folder
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
}

/// Seasons from a day on.
#[derive(Debug, clap::Args)]
pub(super) struct TodayArgs {
    /// Work every season from this day on, MM-DD or YYYY-MM-DD: what --done has is done, what is past its last day and
    /// not done is given up, all else is still to be done
    #[arg(long, value_name = "DAY", value_parser = day)]
    pub(super) today: Option<DiaryDay>,
    /// What is done by then: a CSV file with the columns crop, operation and finished, and where wanted field and
    /// area_done_ha (the fields nearest the yard first); a date is that of the day by whose end it was done
    #[arg(long, value_name = "DIARY.csv", requires = "today")]
    pub(super) done: Option<PathBuf>,
    /// Take all else that was due before that day as done, on its due day; of what --done has in part the rest is open
    #[arg(long, requires = "today")]
    pub(super) rest_done: bool,
}

#[derive(Debug, clap::Args)]
pub(super) struct LookbackArgs {
    #[command(flatten)]
    pub(super) farm: FarmArgs,
    /// The year, of those that the farm's record has
    #[arg(long, value_name = "YEAR")]
    pub(super) year: i16,
    /// What the farm did in it: a CSV file with the columns crop, operation and finished (YYYY-MM-DD or MM-DD), and
    /// where wanted field and begun
    #[arg(long, value_name = "DIARY.csv")]
    pub(super) diary: PathBuf,
    /// A daily record in the place of the script's weather: a CSV file with a row for each day
    #[arg(long, value_name = "RECORD.csv")]
    pub(super) record: Option<PathBuf>,
    /// Tell what happens in that year, event by event: only this table, on standard output
    #[arg(long, conflicts_with = "out")]
    pub(super) trace: bool,
    /// Write the table (CSV) and its descriptor into this folder
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
}

#[derive(Debug, clap::Args)]
pub(super) struct RunArgs {
    #[command(flatten)]
    pub(super) farm: FarmArgs,
    /// How many seasons to work [default: 10000; each recorded year once where a record is replayed]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..))]
    pub(super) seasons: Option<u64>,
    /// Work until the 95 % interval of every chance of being late reaches no further than this to either side, as in
    /// 0.01 for 1 year in 100; at most so many seasons as --seasons says [then default: 1000000]
    #[arg(long, value_name = "CHANCE", value_parser = half_width)]
    pub(super) until_halfwidth: Option<HalfWidth>,
    #[command(flatten)]
    pub(super) work: WorkArgs,
    #[command(flatten)]
    pub(super) today: TodayArgs,
    /// Tell what happens in this season (0 is the first): trace.csv in the folder of --out; without --out
    /// only this table, on standard output
    #[arg(long, value_name = "SEASON")]
    pub(super) trace: Option<u64>,
    /// How often a table fitted to a record is fitted again, to the record's years drawn anew, for what so few years
    /// leave open; 0: not at all
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = refits())]
    pub(super) refits: u64,
    /// Show every operation, also those that are late less than 1 year in 100
    #[arg(long)]
    pub(super) all: bool,
}

#[derive(Debug, clap::Args)]
pub(super) struct CompareArgs {
    #[command(flatten)]
    pub(super) farm: FarmArgs,
    /// A farm to compare with the farm as it is: the parameters in which it differs; can be given several times
    /// [default: the variants that the script declares]
    #[arg(long, value_name = "NAME=VALUE[,NAME=VALUE]...", value_parser = settings)]
    pub(super) with: Vec<Settings>,
    /// How many seasons to work [default: 10000; each recorded year once where a record is replayed]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(2..))]
    pub(super) seasons: Option<u64>,
    /// Work until the 95 % interval of every difference in the chance of being late reaches no further than this to
    /// either side, as in 0.01 for 1 year in 100; at most so many seasons as --seasons says [then default: 1000000]
    #[arg(long, value_name = "CHANCE", value_parser = half_width)]
    pub(super) until_halfwidth: Option<HalfWidth>,
    /// Only find which farm is best: late least often with this operation, as in "drilling, spring barley", or with the
    /// fewest operations late in a season, for `farm`. Farms that fall behind drop out, and seasons go to the others;
    /// at most so many as --seasons says [then default: 1000000]
    #[arg(
        long,
        value_name = "OPERATION, CROP",
        conflicts_with_all = ["until_halfwidth", "out", "refits", "all"]
    )]
    pub(super) best: Option<String>,
    /// With --best: a difference that is worth knowing; nearer than that any may be left [default: 0.02, which is 2
    /// years in 100; for `farm` 0.1 operations a season]
    #[arg(long, value_name = "DIFFERENCE", requires = "best", allow_negative_numbers = true)]
    pub(super) worth_knowing: Option<f64>,
    #[command(flatten)]
    pub(super) work: WorkArgs,
    #[command(flatten)]
    pub(super) today: TodayArgs,
    /// With --out: how often a table fitted to a record is fitted again, to the record's years drawn anew, for what so
    /// few years leave open of each farm's chances in risk.csv; 0: not at all
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = refits())]
    pub(super) refits: u64,
    /// Show every operation that differs
    #[arg(long)]
    pub(super) all: bool,
}

#[derive(Debug, clap::Args)]
#[command(
    override_usage = "dryspell sweep [OPTIONS] [SCRIPT] NAME=VALUES [NAME=VALUES]",
    after_help = "With --out what is done stands in the folder as sweep.partial. If the sweep is stopped, the same command goes \
                  on from there."
)]
pub(super) struct SweepArgs {
    /// The script that describes the farm [default: the demo farm, which is built in], then one or two parameters with
    /// their values: NAME=FROM..TO:STEP for numbers, as in drill_width_m=3..6:0.5, or NAME=a,b,c
    #[arg(value_name = "[SCRIPT] NAME=VALUES", value_hint = clap::ValueHint::FilePath)]
    pub(super) what: Vec<String>,
    /// Set a parameter of the script for every farm; can be given several times
    #[arg(long, value_name = "NAME=VALUE", value_parser = setting)]
    pub(super) set: Vec<(String, String)>,
    /// How many seasons to work at each value [default: 10000; each recorded year once where a record is replayed]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(2..))]
    pub(super) seasons: Option<u64>,
    #[command(flatten)]
    pub(super) work: WorkArgs,
    /// Show every operation
    #[arg(long)]
    pub(super) all: bool,
}

#[derive(Debug, clap::Args)]
pub(super) struct SensitivityArgs {
    #[command(flatten)]
    pub(super) farm: FarmArgs,
    /// A parameter to vary with its range, NAME=FROM..TO, or its values, NAME=a,b,c; NAME alone: as the script says;
    /// can be given several times [default: all of which the script says what they can be, and that --set does not
    /// hold]
    #[arg(long, value_name = "NAME=FROM..TO")]
    pub(super) vary: Vec<String>,
    /// How many ways through the ranges, drawn from the seed; each works as many farms as there are parameters, and one
    /// more
    #[arg(long, value_name = "R", default_value_t = 15, value_parser = clap::value_parser!(u16).range(2..=1000))]
    pub(super) trajectories: u16,
    /// How many seasons to work on each farm [default: 1000; each recorded year once where a record is replayed]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..))]
    pub(super) seasons: Option<u64>,
    #[command(flatten)]
    pub(super) work: WorkArgs,
    /// Show every operation that something matters to
    #[arg(long)]
    pub(super) all: bool,
}

#[derive(Debug, clap::Args)]
pub(super) struct ReliefArgs {
    #[command(flatten)]
    pub(super) farm: FarmArgs,
    /// Rank the steps by how often this operation is late, as in "drilling, spring barley" [default: by how many of the
    /// farm's operations are late in a year]
    #[arg(long = "for", value_name = "OPERATION, CROP")]
    pub(super) for_operation: Option<String>,
    /// How many seasons to work [default: 2000; each recorded year once where a record is replayed]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(2..))]
    pub(super) seasons: Option<u64>,
    #[command(flatten)]
    pub(super) work: WorkArgs,
    /// Try every step that touches late work, not only those that promise most
    #[arg(long)]
    pub(super) all: bool,
}

/// Parameters with their values, as texts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Settings(pub(super) Vec<(String, String)>);

#[derive(Debug, clap::Args)]
pub(super) struct CheckArgs {
    #[command(flatten)]
    pub(super) farm: FarmArgs,
}

#[derive(Debug, clap::Args)]
pub(super) struct DaysArgs {
    /// The record: a CSV file with a row for each day, or weekly statistics with the columns week_ending and
    /// days_suitable
    #[arg(value_name = "RECORD.csv")]
    pub(super) record: PathBuf,
    /// Which column holds what in which unit, as in "date=Day:DD/MM/YYYY, rain=RAIN:inch, tmax=TX:F"; columns that
    /// are called as the program's own (date, rain_mm, tmin_c, ...) need no word
    #[arg(long, value_name = "WORD=COLUMN:UNIT, ...")]
    pub(super) columns: Option<String>,
    /// A text that stands for no value, besides an empty cell; can be given several times
    #[arg(long, value_name = "TEXT", allow_hyphen_values = true)]
    pub(super) missing: Vec<String>,
    /// Bridge gaps of at most so many days by straight lines
    #[arg(long, value_name = "DAYS", default_value_t = 0)]
    pub(super) bridge_days: usize,
    /// Rain is that of the 24 h until the gauge is read in the morning of the day it is noted under
    #[arg(long)]
    pub(super) rain_to_the_morning: bool,
    /// Where it was noted, degrees north; needed only to work out evapotranspiration
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    pub(super) latitude_deg: Option<f64>,
    /// Height above the sea at which it was noted
    #[arg(long, value_name = "M", default_value_t = 0.0, allow_hyphen_values = true)]
    pub(super) altitude_m: f64,
    /// Height above the ground at which the wind was noted
    #[arg(long, value_name = "M", default_value_t = 10.0)]
    pub(super) anemometer_m: f64,
    /// Only this work class; of weekly statistics the class that they are of [default: fieldwork]
    #[arg(long, value_name = "CLASS")]
    pub(super) class: Option<String>,
    /// Only this soil: light, medium or heavy, or one of the script of --rules; of weekly
    /// statistics the soil that they are of [default: any]
    #[arg(long, value_name = "SOIL")]
    pub(super) soil: Option<String>,
    /// Judge by the work classes, drivers and rules of this farm script, not by the rules to start from
    #[arg(long, value_name = "SCRIPT")]
    pub(super) rules: Option<PathBuf>,
    /// How heavy the machines are for their work: heavy ones wait for drier medium and heavy land, light ones go on it
    /// sooner. For the rules to start from; a script's work classes say it with machine_weight [default: middling]
    #[arg(long, value_name = "WEIGHT", value_parser = weight())]
    pub(super) machine_weight: Option<MachineWeight>,
    /// The day on which a year begins: 08-01 keeps harvest, autumn and winter of one harvest year together
    #[arg(long, value_name = "MM-DD", default_value = "01-01")]
    pub(super) year_begins: MonthDay,
    /// Write days.csv and drivers.csv (for a script), a picture for each work and soil, and datapackage.json, which
    /// describes them, into this folder
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
}

#[derive(Debug, clap::Args)]
pub(super) struct NewArgs {
    /// The folder; made if there is none. Files in it are never overwritten
    #[arg(value_name = "DIR")]
    pub(super) folder: PathBuf,
}

#[derive(Debug, clap::Args)]
pub(super) struct ReferenceArgs {
    /// A word or key of a script, or a thing of the trade, as in "machine", "tank_l" or "sprayer"; of several, all that
    /// mentions each of them [default: everything]
    #[arg(value_name = "WORD")]
    pub(super) words: Vec<String>,
    /// Write definitions for an editor's language server for Rhai
    #[arg(long, conflicts_with = "words")]
    pub(super) editor: bool,
}

#[derive(Debug, clap::Args)]
pub(super) struct CompletionsArgs {
    /// The shell
    #[arg(value_name = "SHELL")]
    pub(super) shell: clap_complete::Shell,
}

/// Reads a weight of machines by its name.
fn weight() -> impl clap::builder::TypedValueParser<Value = MachineWeight> {
    // Names that are none do not come as far as the default.
    PossibleValuesParser::new(MachineWeight::NAMES)
        .map(|name| MachineWeight::named(&name).unwrap_or_default())
}

/// Reads how often a table is fitted again.
fn refits() -> impl clap::builder::TypedValueParser<Value = u64> {
    clap::value_parser!(u64).range(0..=10_000)
}

/// Reads half of an interval's width.
fn half_width(text: &str) -> Result<HalfWidth, String> {
    let read = text.trim().parse().ok().and_then(HalfWidth::new);
    read.ok_or_else(|| "write a chance above 0 and below 0.5, for example 0.01 for 1 year in 100".into())
}

/// Reads `NAME=VALUE[,NAME=VALUE]...`.
fn settings(text: &str) -> Result<Settings, String> {
    let read: Vec<(String, String)> =
        text.split(',').map(setting).collect::<Result<_, _>>().map_err(|_| {
            "write NAME=VALUE, and a comma between several, for example drill_width_m=6,operators=3"
                .to_string()
        })?;
    for (index, (name, _)) in read.iter().enumerate() {
        if read[..index].iter().any(|(before, _)| before == name) {
            return Err(format!("it sets {name} twice; for two farms to compare write --with twice"));
        }
    }
    Ok(Settings(read))
}

/// Reads a day with its year or without.
fn day(text: &str) -> Result<DiaryDay, String> {
    DiaryDay::parse(text).map_err(|wrong| wrong.fix)
}

/// Reads `NAME=VALUE`.
fn setting(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((name, value)) if !name.trim().is_empty() => Ok((name.trim().into(), value.trim().into())),
        _ => Err("write NAME=VALUE, for example drill_width_m=6".into()),
    }
}
