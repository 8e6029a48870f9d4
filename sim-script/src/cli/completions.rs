//! `dryspell completions`: what a shell needs to complete commands and options, from the one place where they are said.

use super::args::{Args, CompletionsArgs};
use super::{Failure, print};
use clap::CommandFactory as _;

pub(super) fn completions(args: &CompletionsArgs) -> Result<(), Failure> {
    let mut text = Vec::new();
    clap_complete::generate(args.shell, &mut Args::command(), "dryspell", &mut text);
    print(&String::from_utf8_lossy(&text))
}
