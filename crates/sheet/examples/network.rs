//! Prints the network of the demonstration kit as SVG: `network rails 360`, `network lanes 1280`; with `big` a
//! made-up build of 300 steps, with `path` the way to a gate, with `done=40`
//! so many nodes done, with `time` how long both take to draw.

#[path = "../tests/common/network.rs"]
mod common;

use faying_sheet::network::{lanes, rails};
use faying_sheet::svg;

#[allow(
    clippy::print_stdout,
    clippy::disallowed_types,
    clippy::disallowed_methods,
    reason = "an example that prints and takes the time"
)]
fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let has = |word: &str| words.iter().any(|w| w == word);
    let width = words.iter().find_map(|word| word.parse().ok()).unwrap_or(1280.0);
    let mut network = if has("big") {
        common::made_up(300, 7)
    } else {
        common::kit(words.iter().find_map(|word| word.strip_prefix("done=")?.parse().ok()).unwrap_or(17))
    };
    if has("path") {
        let gate = network.nodes.iter().position(|node| node.stands.is_gate()).unwrap_or(0) + 1;
        network = common::with_path(network, gate);
    }
    if has("time") {
        for (name, draw) in [("rails", rails as fn(&_, f64) -> _), ("lanes", lanes)] {
            let start = std::time::Instant::now();
            let drawing = draw(&network, width);
            println!("{name}: {:.1} ms, {} px high", start.elapsed().as_secs_f64() * 1e3, drawing.height);
        }
        return;
    }
    let drawing = if has("rails") { rails(&network, width) } else { lanes(&network, width) };
    println!("{}", svg::write(&drawing));
}
