//! The command line: what a person typed, what is printed. Nothing else of the crate prints.
//!
//! Exit codes are a contract: 0 every binding rule passes; 1 one fails or is unverified; 2 the file is wrong or cannot be
//! built (also: words that make no command); 3 files could not be read or written.

pub mod args;
mod assembly;
mod calibrate;
mod clasp;
mod compare;
pub mod files;
mod jigs;
mod life;
mod make;
mod masters;
mod mend;
mod mesh_check;
mod motion;
mod papers;
mod plan;
mod plate;
pub mod problems;
mod progress;
mod sheets;
mod show;
mod sprue_picture;
mod summary;
mod tables;
mod typed;
mod wall_lines;
mod whole_lines;
mod work;

use crate::params;
use args::{Cli, Verb};
use clap::Parser as _;
use std::io::Write as _;
use std::process::ExitCode;

/// How a run ended.
#[derive(Debug)]
struct Ended {
    code: u8,
    stdout: String,
    stderr: String,
}

/// Runs the command that was typed.
#[must_use]
pub fn run() -> ExitCode {
    let cli = Cli::parse();
    files::end_when_asked();
    let ended = match &cli.verb {
        Verb::Make(a) => make::make(a, cli.color, cli.quiet),
        Verb::Check(a) => make::check(a, cli.color, cli.quiet),
        Verb::Show(a) => show::show(a, cli.color, cli.quiet),
        Verb::Motion(a) => motion::motion(a, cli.color, cli.quiet),
        Verb::Masters(a) => masters::masters(a, cli.color, cli.quiet),
        Verb::Plate(a) => plate::plate(a, cli.color, cli.quiet),
        Verb::Jigs(a) => jigs::jigs(a, cli.color, cli.quiet),
        Verb::Assembly(a) => assembly::assembly(a, cli.color, cli.quiet),
        Verb::Coupon(a) => calibrate::coupon(a, cli.quiet),
        Verb::Calibrate(a) => calibrate::calibrate(a),
        Verb::Plan(a) => plan::plan(a, cli.color, cli.quiet),
        Verb::Life(a) => life::life(a, cli.color),
        Verb::Passport(a) => life::passport(a, cli.color),
        Verb::Compare(a) => compare::run(a, cli.color, cli.quiet),
        Verb::Tables(a) => tables::tables(a, cli.color),
        Verb::Mend(a) => mend::mend(a, cli.color, cli.quiet),
        Verb::New(a) => new(a, cli.quiet),
        Verb::Schema => Ended {
            code: 0,
            stdout: serde_json::to_string_pretty(&params::schema()).unwrap_or_default() + "\n",
            stderr: String::new(),
        },
    };
    // A closed pipe is the reader's choice; there is nobody left to tell.
    let _ = std::io::stdout().write_all(ended.stdout.as_bytes());
    let _ = std::io::stderr().write_all(ended.stderr.as_bytes());
    ExitCode::from(ended.code)
}

fn new(a: &args::New, quiet: bool) -> Ended {
    let text = params::starter();
    let Some(path) = &a.file else {
        return Ended { code: 0, stdout: text, stderr: String::new() };
    };
    match files::write_new(path, &text) {
        Ok(()) => {
            let path = path.display();
            let said = format!("{path} written. Set metal, stone and wrist, then: colletline make {path}\n");
            Ended { code: 0, stdout: if quiet { String::new() } else { said }, stderr: String::new() }
        }
        Err(e) => make::unwritten(&e),
    }
}
