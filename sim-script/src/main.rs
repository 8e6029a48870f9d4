//! The program `dryspell`.

fn main() -> std::process::ExitCode {
    sim_script::cli::main(std::env::args_os())
}
