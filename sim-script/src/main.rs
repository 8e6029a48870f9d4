//! The program `dryspell`.

fn main() {}
