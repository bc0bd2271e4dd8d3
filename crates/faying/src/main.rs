//! The command line: one module for each command, its help and its exit code.
//!
//! Exit codes: 0 no findings, 1 findings (a head that is outside or not
//! judged is one), 2 could not run. Every command that computes has `--json`.

#![allow(clippy::print_stdout, clippy::print_stderr, reason = "printing is what this room does")]

/// Prints a line; a reader that has gone away (`faying check | head`) ends the program without a cry.
macro_rules! say {
    () => {
        $crate::line(format_args!(""))
    };
    ($($text:tt)*) => {
        $crate::line(format_args!($($text)*))
    };
}

mod commands;

use std::io::Write;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use commands::{
    backup, bench_psplib, bench_sop, callout, check, demo, gate, import, judge, new, next, owed, run, schema,
    serve, strength, verify,
};

/// The bench, the plan and the record of a sheet-metal aeroplane.
///
/// The tool shows and computes, it never approves: the kit designer, the
/// inspector and the authority have the last word.
#[derive(Parser)]
#[command(name = "faying", version, max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    Demo(demo::Arguments),
    New(new::Arguments),
    Check(check::Arguments),
    Serve(serve::Arguments),
    Callout(callout::Arguments),
    Judge(judge::Arguments),
    Strength(strength::Arguments),
    Run(run::RunArguments),
    Open(run::OpenArguments),
    Print(run::PrintArguments),
    Next(next::Arguments),
    Owed(owed::Arguments),
    Gate(gate::Arguments),
    Gates(gate::StartArguments),
    Import(import::Arguments),
    Verify(verify::Arguments),
    Backup(backup::Arguments),
    Schema(schema::Arguments),
    #[command(hide = true)]
    BenchPsplib(bench_psplib::Arguments),
    #[command(hide = true)]
    BenchSop(bench_sop::Arguments),
}

/// How a command ended.
enum Outcome {
    /// Nothing was found.
    Clean,
    /// Something was found.
    Findings,
}

/// A command that could not run, in words.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
struct Failure(String);

impl Failure {
    fn of(error: &dyn std::error::Error) -> Self {
        Self(error.to_string())
    }
}

/// Writes a line to the standard output.
fn line(text: std::fmt::Arguments<'_>) {
    let mut out = std::io::stdout().lock();
    if let Err(error) = writeln!(out, "{text}") {
        // Nobody reads any more: the code is that of a command that could not do its work to the end.
        let gone = error.kind() == std::io::ErrorKind::BrokenPipe;
        if !gone {
            eprintln!("the output cannot be written: {error}");
        }
        std::process::exit(2);
    }
}

type Ended = Result<Outcome, Failure>;

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let ended = match &arguments.command {
        Command::Demo(it) => demo::run(it),
        Command::New(it) => new::run(it),
        Command::Check(it) => check::run(it),
        Command::Serve(it) => serve::run(it),
        Command::Callout(it) => callout::run(it),
        Command::Judge(it) => judge::run(it),
        Command::Strength(it) => strength::run(it),
        Command::Run(it) => run::run(it),
        Command::Open(it) => run::open(it),
        Command::Print(it) => run::prints(it),
        Command::Next(it) => next::run(it),
        Command::Owed(it) => owed::run(it),
        Command::Gate(it) => gate::run(it),
        Command::Gates(it) => gate::start(it),
        Command::Import(it) => import::run(it),
        Command::Verify(it) => verify::run(it),
        Command::Backup(it) => backup::run(it),
        Command::Schema(it) => schema::run(it),
        Command::BenchPsplib(it) => bench_psplib::run(it),
        Command::BenchSop(it) => bench_sop::run(it),
    };
    match ended {
        Ok(Outcome::Clean) => ExitCode::SUCCESS,
        Ok(Outcome::Findings) => ExitCode::from(1),
        Err(failure) => {
            eprintln!("{failure}");
            ExitCode::from(2)
        }
    }
}
