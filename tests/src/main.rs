//! The command line under test: `dryspell`.

fn main() -> std::process::ExitCode {
    sim_script::cli::main(std::env::args_os())
}
