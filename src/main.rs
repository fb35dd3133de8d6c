//! The `wayup` program: a thin door to [`wayup::cli`].

fn main() -> std::process::ExitCode {
    wayup::cli::run()
}
