//! Measures the ledger on the machine it runs on, and prints the figures.
//!
//! `cargo run --release -p faying-ledger --example measure [FOLDER]`; the
//! ledger is made in a folder of its own inside FOLDER, or where temporary
//! files go.

use std::error::Error;
use std::io::Write;
use std::time::{Duration, Instant};

use faying_ledger::{Against, Ledger, Position, Reader, Row, RowHash};

/// Rows of one writer with bodies of about the size of an event.
fn chain(writer: &str, count: u64) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    let mut prev = RowHash::NONE;
    for seq in 1..=count {
        let body =
            format!("{{\"v\":1,\"seq\":{seq},\"kind\":\"hole-set\",\"body\":\"{}\"}}", "x".repeat(250));
        // As scattered as a real act id, which comes from chance.
        let act = RowHash::from_bytes(*blake3::hash(format!("{writer} {seq}").as_bytes()).as_bytes())
            .to_string()[..32]
            .to_owned();
        let row = Row::seal(writer, seq, prev, seq, act, body.into_bytes());
        prev = row.hash;
        rows.push(row);
    }
    rows
}

/// Time this thread has spent on the processor, where the system tells; other work on the machine is not in it.
fn on_processor() -> Duration {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    Duration::from_nanos(text.split(' ').next().and_then(|first| first.parse().ok()).unwrap_or(0))
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = match std::env::args_os().nth(1) {
        Some(folder) => tempfile::tempdir_in(folder)?,
        None => tempfile::tempdir()?,
    };
    let mut out = std::io::stdout().lock();
    let path = folder.path().join("record.faying");
    let mut ledger = Ledger::create(&path, "measuring")?;

    let mut times = Vec::new();
    for row in chain("single", 200) {
        let start = Instant::now();
        ledger.append(&[row])?;
        times.push(start.elapsed());
    }
    times.sort();
    writeln!(out, "200 single appends: median {:.2} ms, longest {:.2} ms", ms(times[100]), ms(times[199]))?;

    let many = chain("many", 100_000);
    let (start, processor) = (Instant::now(), on_processor());
    ledger.append(&many)?;
    let (took, processor) = (start.elapsed(), on_processor() - processor);
    writeln!(
        out,
        "100,000 rows in one append: {:.0} ms, on the processor {:.0} ms",
        ms(took),
        ms(processor)
    )?;

    let mut times = Vec::new();
    let mut last = many[many.len() - 1].clone();
    for number in 0..200 {
        last = Row::seal("many", last.seq + 1, last.hash, last.seq + 1, format!("more {number}"), last.bytes);
        let start = Instant::now();
        ledger.append(std::slice::from_ref(&last))?;
        times.push(start.elapsed());
    }
    times.sort();
    writeln!(out, "200 single appends behind them: median {:.2} ms", ms(times[100]))?;

    let start = Instant::now();
    let bytes: usize =
        ledger.rows_since(Position::START).map(|held| held.map_or(0, |h| h.row.bytes.len())).sum();
    writeln!(out, "reading them all: {:.0} ms ({bytes} bytes)", ms(start.elapsed()))?;
    let start = Instant::now();
    let heads = ledger.heads()?;
    writeln!(out, "heads of {} writers: {:.3} ms", heads.len(), ms(start.elapsed()))?;

    let mut stage = Instant::now();
    let start = Instant::now();
    let verified = ledger.verify(&Against { heads: &heads, ..Against::default() }, |progress| {
        if progress.done == 0 {
            stage = Instant::now();
        }
        false
    })?;
    writeln!(
        out,
        "verify of {} rows: {:.0} ms, of which SQLite's own check {:.0} ms; {} faults",
        verified.rows,
        ms(start.elapsed()),
        ms(stage.elapsed()),
        verified.faults.len()
    )?;

    let start = Instant::now();
    let backup = ledger.backup_to(&folder.path().join("backups"), "measured")?;
    writeln!(out, "backup, read back: {:.0} ms", ms(start.elapsed()))?;

    let copy = Reader::open(&backup.path)?;
    let start = Instant::now();
    let report = ledger.merge(&copy)?;
    writeln!(out, "merge that takes {} of {}: {:.0} ms", report.taken, backup.rows, ms(start.elapsed()))?;
    let mut other = Ledger::create(&folder.path().join("other.faying"), "measuring")?;
    let start = Instant::now();
    let report = other.merge(&copy)?;
    writeln!(out, "merge that takes {}: {:.0} ms", report.taken, ms(start.elapsed()))?;

    drop(ledger);
    let start = Instant::now();
    drop(Ledger::open(&path, "measuring")?);
    writeln!(out, "opening: {:.1} ms", ms(start.elapsed()))?;
    Ok(())
}
