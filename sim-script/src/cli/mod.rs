//! The command line: what is asked for, and what is printed. Results go to standard output, all else to
//! standard error. Exit status: 0 done, 1 the run failed, 2 the request or the script is wrong.
//!
//! What scripts mean and what tables hold is not here.

mod args;
mod check;
mod compare;
mod completions;
mod days;
mod embedded;
mod load;
mod lookback;
mod moves;
mod new;
mod odd;
mod plain;
mod points;
mod reference;
mod relief;
mod run;
mod sensitivity;
mod summary;
mod sweep;
#[cfg(test)]
mod tests;
mod today;
mod until;
mod vary;
mod work;

use crate::script::ScriptError;
use crate::tables::OutError;
use args::{Args, Command};
use clap::Parser as _;
use sim_core::season::SeasonError;
use sim_core::study::RefitError;
use sim_core::weather::WeatherError;
use std::ffi::OsString;
use std::io::{self, Write as _};
use std::process::ExitCode;

/// Why a command did not come to its end.
#[derive(Debug, thiserror::Error)]
enum Failure {
    /// The script is wrong.
    #[error("{0}")]
    Script(#[from] ScriptError),
    /// The script's weather cannot be used.
    #[error("{0}")]
    Weather(#[from] WeatherError),
    /// The folder for results cannot be used; found before anything was run.
    #[error("{0}\nName another folder with --out, or make this one writable.")]
    Out(OutError),
    /// A record is wrong; the message is whole, with colours.
    #[error("{0}")]
    Record(String),
    /// Something else in the request is wrong.
    #[error("{0}")]
    Request(String),
    /// A season could not be worked.
    #[error("{0}\nWith --trace {season} you see what happened in that season until then.", season = .0.season())]
    Season(#[from] SeasonError),
    /// A table could not be fitted again.
    #[error("{0}")]
    Refit(#[from] RefitError),
    /// Results could not be written.
    #[error("{0}")]
    Write(OutError),
    /// The run was stopped; what there is has been printed.
    #[error("{0}")]
    Stopped(String),
    /// Standard output cannot be written.
    #[error("cannot write to standard output: {0}")]
    Output(#[from] io::Error),
}

impl Failure {
    fn status(&self) -> u8 {
        match self {
            Self::Script(_) | Self::Weather(_) | Self::Out(_) | Self::Request(_) | Self::Record(_) => 2,
            Self::Season(_) | Self::Refit(_) | Self::Write(_) | Self::Stopped(_) => 1,
            // Whoever read our output has seen enough.
            Self::Output(error) if error.kind() == io::ErrorKind::BrokenPipe => 0,
            Self::Output(_) => 1,
        }
    }

    fn tell(&self) {
        let text = match self {
            Self::Output(error) if error.kind() == io::ErrorKind::BrokenPipe => return,
            Self::Script(error) => error.coloured(),
            Self::Record(text) => text.clone(),
            other => format!("\x1b[1;31merror:\x1b[0m {other}"),
        };
        // If standard error cannot be written either, the status has to speak for itself.
        let _ = writeln!(anstream::stderr(), "{}", text.trim_end());
    }
}

/// Runs the program with these arguments, its name first.
pub fn main(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args = match Args::try_parse_from(args) {
        Ok(args) => args,
        Err(error) => {
            // Help and version go to standard output, the rest to standard error.
            let _ = error.print();
            return ExitCode::from(u8::try_from(error.exit_code()).unwrap_or(2));
        }
    };
    let done = match &args.command {
        Command::Run(args) => run::run(args),
        Command::Compare(args) => compare::compare(args),
        Command::Lookback(args) => lookback::lookback(args),
        Command::Sweep(args) => sweep::sweep(args),
        Command::Sensitivity(args) => sensitivity::sensitivity(args),
        Command::Relief(args) => relief::relief(args),
        Command::Check(args) => check::check(args),
        Command::Days(args) => days::days(args),
        Command::New(args) => new::new(args),
        Command::Reference(args) => reference::reference(args),
        Command::Completions(args) => completions::completions(args),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            failure.tell();
            ExitCode::from(failure.status())
        }
    }
}

/// Writes results to standard output.
fn print(text: &str) -> Result<(), Failure> {
    let mut output = anstream::stdout();
    output.write_all(text.as_bytes())?;
    output.flush()?;
    Ok(())
}
