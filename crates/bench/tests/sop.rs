//! The ordering search against brute force, a plain exact method, and published best values.
//!
//! The published instances are not part of the project (their licence): the
//! test that wants them looks for them beside it and says so where they are
//! not there. Nothing here waits on a clock; searches are stopped by their own
//! count of work.

#![allow(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "a test may fail, and reads the published instances where they are"
)]

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use faying_bench::sop::{Problem, ProblemError, Progress, read, solve, solve_on_two};
use insta::assert_snapshot;
use proptest::prelude::*;

/// A problem of `n` jobs out of as many numbers as the largest wants.
fn problem(n: usize, costs: &[i32], pairs: &[(u32, u32)]) -> Problem {
    let pairs: Vec<_> = pairs.iter().copied().filter(|&(i, j)| i < j && (j as usize) < n).collect();
    Problem::new(n, costs[..n * n].to_vec(), &pairs).unwrap()
}

/// The cheapest of all orders, by trying every permutation.
fn brute(problem: &Problem) -> i64 {
    fn permute(rest: &mut Vec<u32>, at: usize, problem: &Problem, best: &mut i64) {
        if at == rest.len() {
            *best = (*best).min(problem.cost_of(rest).unwrap_or(i64::MAX));
            return;
        }
        for other in at..rest.len() {
            rest.swap(at, other);
            permute(rest, at + 1, problem, best);
            rest.swap(at, other);
        }
    }
    let mut best = i64::MAX;
    permute(&mut (0..problem.jobs() as u32).collect(), 0, problem, &mut best);
    best
}

/// The cheapest order by dynamic programming over all sets, with none of the search's own shortcuts.
fn dynamic(n: usize, costs: &[i32], problem: &Problem) -> i64 {
    let mut best = vec![vec![i64::MAX; n]; 1 << n];
    for job in 0..n {
        best[1 << job][job] = 0;
    }
    for set in 1..1_usize << n {
        // A set that lacks what comes before one of its jobs is no start of an order.
        let broken = (0..n).any(|job| {
            set >> job & 1 != 0 && (0..n).any(|it| problem.comes_before(it, job) && set >> it & 1 == 0)
        });
        if broken {
            continue;
        }
        for last in 0..n {
            let cost = best[set][last];
            if cost == i64::MAX {
                continue;
            }
            for next in (0..n).filter(|next| set >> next & 1 == 0) {
                let known = &mut best[set | 1 << next][next];
                *known = (*known).min(cost + i64::from(costs[last * n + next]));
            }
        }
    }
    *best[(1 << n) - 1].iter().min().unwrap()
}

/// Stops after so many questions.
fn questions(most: u32) -> impl FnMut(&Progress) -> bool {
    let mut asked = 0;
    move |_| {
        asked += 1;
        asked > most
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn small_problems_are_proven_as_by_brute_force(
        n in 1_usize..8,
        costs in prop::collection::vec(0..30_i32, 49),
        pairs in prop::collection::vec((0..7_u32, 0..7_u32), 0..8),
    ) {
        let problem = problem(n, &costs, &pairs);
        let solution = solve(&problem, 7, &mut questions(1_000));
        prop_assert_eq!(problem.cost_of(&solution.order), Some(solution.cost));
        prop_assert_eq!((solution.cost, solution.lower_bound, solution.proven), (brute(&problem), solution.cost, true));
    }

    /// Stopped at any moment: the order keeps precedence and the bound is true.
    #[test]
    fn stopped_at_any_moment(
        n in 9_usize..13,
        costs in prop::collection::vec(0..1_000_i32, 144),
        pairs in prop::collection::vec((0..12_u32, 0..12_u32), 0..10),
        asked in 0_u32..4,
    ) {
        let problem = problem(n, &costs, &pairs);
        let optimum = dynamic(n, &costs, &problem);
        let solution = solve(&problem, 3, &mut questions(asked));
        prop_assert_eq!(problem.cost_of(&solution.order), Some(solution.cost));
        prop_assert!(solution.lower_bound <= optimum && optimum <= solution.cost);
        prop_assert_eq!(solution.proven, solution.cost == solution.lower_bound);
    }

    #[test]
    fn any_text_is_read_or_refused(text in "([A-Z_]{0,20}:? ?|-?[0-9]{1,12}|[ \n\t]|EDGE_WEIGHT_SECTION\n){0,60}") {
        let _ = read(&text);
    }

    #[test]
    fn any_unicode_is_read_or_refused(text in "\\PC*") {
        let _ = read(&format!("DIMENSION: 2\nEDGE_WEIGHT_SECTION\n{text}"));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn fourteen_jobs_are_proven_as_by_dynamic_programming(
        costs in prop::collection::vec(0..500_i32, 196),
        pairs in prop::collection::vec((0..14_u32, 0..14_u32), 0..12),
    ) {
        let problem = problem(14, &costs, &pairs);
        let optimum = dynamic(14, &costs, &problem);
        let alone = solve(&problem, 5, &mut questions(2_000));
        prop_assert_eq!((alone.cost, alone.lower_bound), (optimum, optimum));
        let on_two = solve_on_two(&problem, 5, &|_| false);
        prop_assert_eq!((on_two.cost, on_two.lower_bound), (optimum, optimum));
    }
}

/// A grid of holes, the odd ones before the even ones of their row: large enough not to be proven at once.
fn grid() -> Problem {
    let place = |job: usize| ((job % 12) as i32 * 10, (job / 12) as i32 * 17);
    let n = 60;
    let costs = (0..n * n)
        .map(|at| {
            let ((x, y), (u, v)) = (place(at / n), place(at % n));
            (x - u).abs() + (y - v).abs()
        })
        .collect();
    let pairs: Vec<_> = (0..60).filter(|job| job % 12 % 2 == 1).map(|job| (job - 1, job)).collect();
    Problem::new(n, costs, &pairs).unwrap()
}

#[test]
fn the_same_seed_gives_the_same_answer() {
    let problem = grid();
    let one = solve(&problem, 11, &mut questions(40));
    let two = solve(&problem, 11, &mut questions(40));
    assert_eq!(one, two);
    // By the count of work as well, which is the same on every machine.
    let by_work = |most| move |progress: &Progress| progress.work >= most;
    let one = solve(&problem, 12, &mut by_work(30_000_000));
    assert_eq!(one, solve(&problem, 12, &mut by_work(30_000_000)));
}

#[test]
fn progress_only_gets_better() {
    let mut last: Option<Progress> = None;
    let mut asked = 0;
    solve(&grid(), 1, &mut |progress| {
        if let Some(last) = &last {
            assert!(progress.cost <= last.cost && progress.lower_bound >= last.lower_bound);
            assert!(progress.work > last.work);
        }
        assert!(progress.lower_bound <= progress.cost);
        last = Some(*progress);
        asked += 1;
        asked > 60
    });
}

#[test]
fn no_jobs_one_job_and_a_chain() {
    let none = solve(&Problem::new(0, vec![], &[]).unwrap(), 1, &mut |_| false);
    assert_eq!((none.order.len(), none.cost, none.proven), (0, 0, true));
    let one = solve(&Problem::new(1, vec![-1], &[]).unwrap(), 1, &mut |_| false);
    assert_eq!((one.order, one.cost, one.proven), (vec![0], 0, true));
    // A thousand jobs in a chain leave one order, beyond 64 and 512 jobs alike.
    let n = 1_000;
    let pairs: Vec<_> = (1..n as u32).map(|job| (job - 1, job)).collect();
    let chain = solve(&Problem::new(n, vec![3; n * n], &pairs).unwrap(), 1, &mut |_| false);
    assert_eq!((chain.cost, chain.proven), (3 * 999, true));
    assert!(chain.order.iter().copied().eq(0..1_000));
}

/// Costs at the very edge of what is taken do not overflow.
#[test]
fn the_largest_costs() {
    let n = 70;
    let costs = (0..n * n).map(|at| 1_000_000_000 - (at as i32 * 7_919) % 1_000_000).collect();
    let problem = Problem::new(n, costs, &[(3, 9), (9, 60)]).unwrap();
    let solution = solve(&problem, 1, &mut questions(20));
    assert_eq!(problem.cost_of(&solution.order), Some(solution.cost));
    assert!(solution.lower_bound > 69 * 999_000_000 && solution.lower_bound <= solution.cost);
}

#[test]
fn refusals_of_a_problem() {
    let refused = |n, costs, before: &[(u32, u32)]| Problem::new(n, costs, before).unwrap_err();
    let circle = refused(5, vec![1; 25], &[(0, 1), (1, 4), (4, 2), (2, 1), (2, 3)]);
    assert_eq!(circle, ProblemError::Circle { jobs: vec![1, 4, 2] });
    assert_snapshot!(circle, @"these jobs wait for each other: 1 before 4 before 2 before 1; take one of the precedences away");
    assert_eq!(refused(2, vec![1; 4], &[(1, 1)]), ProblemError::Circle { jobs: vec![1] });
    assert_snapshot!(refused(3, vec![1; 8], &[]), @"3 jobs want 9 costs, one for each pair in order; there are 8");
    assert_snapshot!(refused(2, vec![1; 4], &[(0, 2)]), @"job 2 is named in a precedence, but the 2 jobs are numbered from 0");
    assert_snapshot!(refused(2, vec![0, 4, -3, 0], &[]), @"the cost of going from job 1 to job 0 is -3; costs are 0 to 1000000000");
}

#[test]
fn refusals_of_the_reader() {
    let refused = |text: &str| read(text).unwrap_err();
    assert_snapshot!(refused(""), @"there is no matrix of costs; it stands behind a line EDGE_WEIGHT_SECTION");
    assert_snapshot!(refused("NAME: x\nDIMENSION: 3\n"), @"there is no matrix of costs; it stands behind a line EDGE_WEIGHT_SECTION");
    assert_snapshot!(refused("NAME: x\nTYPE: TSP\n"), @r#"line 2: TYPE is "TSP"; only SOP is read"#);
    assert_snapshot!(refused("EDGE_WEIGHT_FORMAT: UPPER_ROW\n"), @r#"line 1: EDGE_WEIGHT_FORMAT is "UPPER_ROW"; only FULL_MATRIX is read"#);
    assert_snapshot!(refused("DIMENSION: many\n"), @r#"line 1: "many" is not a number of jobs; write a whole number, 1 to 10000"#);
    assert_snapshot!(refused("EDGE_WEIGHT_SECTION\n2\n0 1\n-1 zero\n"), @r#"line 4: "zero" is not a cost; write a whole number, 0 to 1000000000, or -1 where the job of the column comes before the job of the row"#);
    assert_snapshot!(refused("DIMENSION: 2\nEDGE_WEIGHT_SECTION\n2\n0 1\n-1\nEOF\n"), @"line 5: 2 jobs want 4 costs, and there are 3; write 2 rows of 2");
    assert_snapshot!(refused("EDGE_WEIGHT_SECTION\n2\n0 -1\n-1 0\n"), @"these jobs wait for each other: 0 before 1 before 0; take one of the precedences away; jobs are counted from 0 in the order of the rows");
}

#[test]
fn the_forms_of_a_file() {
    let cost = |text: &str| read(text).unwrap().cost_of(&[0, 1]);
    // With the number of jobs before the rows, without it, wrapped rows, and a bare matrix.
    assert_eq!(cost("DIMENSION: 2\nEDGE_WEIGHT_SECTION\n2\n0 7\n-1 0\nEOF\n"), Some(7));
    assert_eq!(cost("DIMENSION : 2\nEDGE_WEIGHT_SECTION\n0 7\n-1 0\n"), Some(7));
    assert_eq!(cost("DIMENSION: 2\r\nEDGE_WEIGHT_SECTION\r\n2\r\n0\r\n7\r\n-1 0\r\n"), Some(7));
    assert_eq!(cost("0\t7\t\n-1\t0\t\n"), Some(7));
    // -1 in row 1 and column 0: job 0 comes before job 1.
    assert_eq!(read("0\t7\t\n-1\t0\t\n").unwrap().cost_of(&[1, 0]), None);
    assert_eq!(read("EDGE_WEIGHT_SECTION\n1\n0\n").unwrap().jobs(), 1);
}

fn reference() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/reference/scheduling")
}

/// Work given to each instance; a good deal less than the ten seconds of the measurements.
const WORK: u64 = 800_000_000;

/// Every instance at hand: proven optima reached, all others within 1 % of the best known, and no
/// bound above a best known value, which is the cost of some order.
#[test]
fn published_instances() {
    let folder = reference();
    let Ok(table) = std::fs::read_to_string(folder.join("sop_best_known.csv")) else {
        println!("not run: reference files absent");
        return;
    };
    let mut lines = table.lines();
    let columns: HashMap<&str, usize> =
        lines.next().unwrap().split(',').enumerate().map(|(at, it)| (it, at)).collect();
    let mut seen = 0;
    for line in lines {
        // The one quoted column of two numbers comes after those that are read here.
        let quoted = line.replace(", ", ";");
        let fields: Vec<&str> = quoted.split(',').collect();
        let name = fields[columns["instance"]];
        let path = ["sop", "soplib"].map(|it| folder.join(it).join(format!("{name}.sop")));
        let Some(text) = path.iter().find_map(|path| std::fs::read_to_string(path).ok()) else { continue };
        seen += 1;
        let best: i64 = fields[columns["best_known"]].parse().unwrap();
        let own: Option<i64> = fields[columns["own_exact_optimum"]].parse().ok();
        let problem = read(&text).unwrap();
        let solution = solve(&problem, 1, &mut |progress| progress.work >= WORK);
        assert_eq!(problem.cost_of(&solution.order), Some(solution.cost), "{name}");
        assert!(solution.lower_bound <= best, "{name}: bound {} over {best}", solution.lower_bound);
        match own {
            Some(optimum) => assert_eq!(solution.cost, optimum, "{name}"),
            None => assert!(
                solution.cost * 100 <= best * 101,
                "{name}: {} is more than 1 % over {best}",
                solution.cost
            ),
        }
    }
    assert!(seen >= 20, "only {seen} instances found");
}
