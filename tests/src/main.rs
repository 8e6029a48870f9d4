//! The command line under test: `dryspell`.

fn main() {}
