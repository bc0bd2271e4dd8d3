//! The scheduling search against brute force, a checker of its own, and published best values.
//!
//! The published instances are not part of the project: the test that wants
//! them looks for them beside it and says so where they are not there. Nothing
//! here waits on a clock; searches are stopped by their own count of work.

#![allow(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "a test may fail, and reads the published instances where they are"
)]

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use faying_sequence::schedule::{
    Activity, Clock, Link, Options, Problem, ProblemError, Progress, Solution, Wait, read, solve,
    solve_on_two,
};
use insta::assert_snapshot;
use proptest::prelude::*;

/// A project in plain numbers, for what is reckoned here without the search.
#[derive(Clone, Debug)]
struct Project {
    capacities: Vec<u32>,
    activities: Vec<Activity>,
    links: Vec<Link>,
    /// Slots of this length, and when they begin.
    clock: Option<(u32, Vec<i64>)>,
}

impl Project {
    fn problem(&self) -> Problem {
        let clock = self.clock.clone().map(|(slot, begins)| Clock::new(slot, begins).unwrap());
        Problem::new(&self.capacities, &self.activities, &self.links, clock).unwrap()
    }

    /// Calendar time at which a slot begins, and at which the one before it has ended.
    fn begin(&self, slot: usize) -> i64 {
        let (length, begins) = self.clock.as_ref().unwrap();
        let last = begins.len() - 1;
        if slot <= last { begins[slot] } else { begins[last] + i64::from(*length) * (slot - last) as i64 }
    }

    fn over(&self, end: usize) -> i64 {
        if end == 0 { self.begin(0) } else { self.begin(end - 1) + i64::from(self.clock.as_ref().unwrap().0) }
    }

    /// Whether `to` may start then when `from` ends so, tried and not solved for.
    fn may_follow(&self, link: &Link, end: usize, start: usize) -> bool {
        match link.wait {
            Wait::Slots(slots) => end + slots as usize <= start,
            Wait::Calendar(time) => end <= start && self.over(end) + i64::from(time) <= self.begin(start),
        }
    }

    /// When everything has ended; `None` where the starts break a link or a capacity. Slot by slot.
    fn check(&self, starts: &[u32]) -> Option<u32> {
        let end = |i: usize| starts[i] + self.activities[i].duration;
        if starts.len() != self.activities.len() {
            return None;
        }
        for link in &self.links {
            let (from, to) = (link.from as usize, link.to as usize);
            if !self.may_follow(link, end(from) as usize, starts[to] as usize) {
                return None;
            }
        }
        let last = (0..starts.len()).map(end).max().unwrap_or(0);
        for slot in 0..last {
            for (r, &capacity) in self.capacities.iter().enumerate() {
                let busy = (0..starts.len()).filter(|&i| starts[i] <= slot && slot < end(i));
                if busy.map(|i| self.activities[i].demands[r]).sum::<u32>() > capacity {
                    return None;
                }
            }
        }
        Some(last)
    }

    /// Each activity in turn as early as it can, slot by slot; `None` where the order breaks a link.
    fn in_turn(&self, order: &[u32]) -> Option<Vec<u32>> {
        let mut starts: Vec<Option<u32>> = vec![None; self.activities.len()];
        for &i in order {
            let it = &self.activities[i as usize];
            let mut start = 0_u32;
            'later: loop {
                for link in self.links.iter().filter(|link| link.to == i) {
                    let end = starts[link.from as usize]? + self.activities[link.from as usize].duration;
                    if !self.may_follow(link, end as usize, start as usize) {
                        start += 1;
                        continue 'later;
                    }
                }
                if !self.has_room(&starts, it, start) {
                    start += 1;
                    continue 'later;
                }
                break;
            }
            starts[i as usize] = Some(start);
        }
        starts.into_iter().collect()
    }

    /// Whether an activity fits beside those that have a start already.
    fn has_room(&self, starts: &[Option<u32>], it: &Activity, start: u32) -> bool {
        (start..start + it.duration).all(|slot| {
            self.capacities.iter().enumerate().all(|(r, &capacity)| {
                let busy = starts.iter().zip(&self.activities).filter(|(start, other)| {
                    start.is_some_and(|start| start <= slot && slot < start + other.duration)
                });
                busy.map(|(_, other)| other.demands[r]).sum::<u32>() + it.demands[r] <= capacity
            })
        })
    }

    /// The soonest end by every order: an end that nothing beats is reached by some order in turn.
    fn by_every_order(&self) -> u32 {
        fn permute(it: &Project, order: &mut Vec<u32>, at: usize, best: &mut u32) {
            if at == order.len() {
                if let Some(starts) = it.in_turn(order) {
                    *best = (*best).min(it.check(&starts).unwrap());
                }
                return;
            }
            for other in at..order.len() {
                order.swap(at, other);
                permute(it, order, at + 1, best);
                order.swap(at, other);
            }
        }
        let mut best = u32::MAX;
        permute(self, &mut (0..self.activities.len() as u32).collect(), 0, &mut best);
        best
    }

    /// The soonest end by every start of every activity up to a slot: no theorem is needed.
    fn by_every_start(&self, most: u32) -> u32 {
        let n = self.activities.len();
        let mut starts = vec![0; n];
        let mut best = u32::MAX;
        loop {
            best = best.min(self.check(&starts).unwrap_or(u32::MAX));
            let Some(at) = (0..n).find(|&at| starts[at] < most) else { return best };
            starts[at] += 1;
            starts[..at].fill(0);
        }
    }
}

/// Projects of up to `most` activities and five resources, more than one word holds.
fn projects(most: usize, calendar: bool) -> impl Strategy<Value = Project> {
    let activity = (0..5_u32, prop::collection::vec(0..4_u32, 5));
    let link = (0..most as u32, 0..most as u32, 0..4_u32, prop::bool::ANY);
    // Slots of two units; mostly one follows the other, at times there is a night between.
    let gaps = prop::collection::vec(prop_oneof![3 => Just(2_i64), 1 => 3..15_i64], 20);
    (
        prop::collection::vec(3..7_u32, 5),
        prop::collection::vec(activity, 1..=most),
        prop::collection::vec(link, 0..most + 3),
        gaps,
    )
        .prop_map(move |(capacities, activities, links, gaps)| {
            let n = activities.len() as u32;
            let links = links.into_iter().filter(|&(from, to, ..)| from < to && to < n);
            Project {
                capacities,
                activities: activities
                    .into_iter()
                    .map(|(duration, demands)| Activity { duration, demands })
                    .collect(),
                links: links
                    .map(|(from, to, wait, by_calendar)| Link {
                        from,
                        to,
                        wait: if calendar && by_calendar {
                            Wait::Calendar(3 * wait)
                        } else {
                            Wait::Slots(wait)
                        },
                    })
                    .collect(),
                clock: calendar.then(|| {
                    let begins = gaps.iter().scan(0, |at, gap| Some(std::mem::replace(at, *at + gap)));
                    (2, begins.collect())
                }),
            }
        })
}

/// Stops after so many questions.
fn questions(most: u32) -> impl FnMut(&Progress) -> bool {
    let mut asked = 0;
    move |_| {
        asked += 1;
        asked > most
    }
}

fn options(seed: u64) -> Options {
    Options { seed, ..Options::default() }
}

/// What must be true of every answer.
fn honest(project: &Project, problem: &Problem, solution: &Solution) {
    assert_eq!(project.check(&solution.starts), Some(solution.makespan));
    assert_eq!(problem.end_of(&solution.starts), Some(solution.makespan));
    assert!(solution.lower_bound <= solution.makespan);
    assert_eq!(solution.proven, solution.lower_bound == solution.makespan);
    // The order, done in turn, is no worse than the schedule it was read from.
    let starts = project.in_turn(&solution.order(problem)).expect("the order keeps the links");
    assert!(starts.iter().zip(&solution.starts).all(|(in_turn, start)| in_turn <= start));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn small_projects_are_proven_as_by_every_order(project in projects(6, false)) {
        let problem = project.problem();
        let solution = solve(&problem, &options(7), &mut questions(1_000));
        honest(&project, &problem, &solution);
        prop_assert_eq!((solution.makespan, solution.proven), (project.by_every_order(), true));
    }

    #[test]
    fn waits_by_the_calendar_as_by_every_order(project in projects(5, true)) {
        let problem = project.problem();
        let solution = solve(&problem, &options(7), &mut questions(1_000));
        honest(&project, &problem, &solution);
        prop_assert_eq!((solution.makespan, solution.proven), (project.by_every_order(), true));
    }

    #[test]
    fn three_activities_as_by_every_start(project in projects(3, true)) {
        let problem = project.problem();
        let solution = solve(&problem, &options(7), &mut questions(1_000));
        prop_assert_eq!(solution.makespan, project.by_every_start(solution.makespan));
    }

    /// Stopped at any moment: the starts keep everything and the bound is true.
    #[test]
    fn stopped_at_any_moment(project in projects(6, true), asked in 0_u32..2) {
        let problem = project.problem();
        let solution = solve(&problem, &options(3), &mut questions(asked));
        honest(&project, &problem, &solution);
        let optimum = project.by_every_order();
        prop_assert!(solution.lower_bound <= optimum && optimum <= solution.makespan);
    }

    /// Any numbers at all may be wished for; an order that is good is not lost.
    #[test]
    fn no_worse_than_the_order_to_begin_with(
        project in projects(12, true),
        keys in prop::collection::vec(0..12_u32, 0..14),
    ) {
        let problem = project.problem();
        let solution = solve(&problem, &Options { seed: 1, order: keys }, &mut |_| true);
        honest(&project, &problem, &solution);
        let again = Options { seed: 1, order: solution.order(&problem) };
        prop_assert!(solve(&problem, &again, &mut |_| true).makespan <= solution.makespan);
    }

    #[test]
    fn any_text_is_read_or_refused(
        text in "(jobs|- renewable|: |[0-9]{1,6}|[ \n\t]|PRECEDENCE RELATIONS:\n|REQUESTS/DURATIONS:\n|RESOURCEAVAILABILITIES:\n){0,80}"
    ) {
        let _ = read(&text);
    }

    #[test]
    fn any_word_put_into_a_file_is_read_or_refused(at in 0_usize..400, word in "\\PC{0,6}|-1|4294967296|\n") {
        let at = THREE.char_indices().map(|(at, _)| at).nth(at % THREE.len()).unwrap();
        let _ = read(&format!("{}{word}{}", &THREE[..at], &THREE[at..]));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20))]

    #[test]
    fn on_two_threads_as_on_one(project in projects(14, true)) {
        let problem = project.problem();
        let one = solve(&problem, &options(5), &mut questions(4_000));
        let two = solve_on_two(&problem, &options(5), &|_| false);
        honest(&project, &problem, &one);
        honest(&project, &problem, &two);
        prop_assert!(two.proven);
        prop_assert_eq!((one.makespan, one.lower_bound), (two.makespan, two.lower_bound));
    }
}

/// Forty activities on two scarce resources, not proven at once.
fn forty() -> Problem {
    let activities: Vec<Activity> = (0..40)
        .map(|i| Activity { duration: 1 + i * 7 % 9, demands: vec![1 + i * 5 % 6, i * 11 % 7] })
        .collect();
    let links: Vec<Link> =
        (8..40).map(|i| Link::after(i - 8 + i % 3, i)).filter(|it| it.from < it.to).collect();
    Problem::new(&[8, 7], &activities, &links, None).unwrap()
}

#[test]
fn the_same_seed_gives_the_same_answer() {
    let problem = forty();
    let one = solve(&problem, &options(11), &mut questions(4));
    assert_eq!(one, solve(&problem, &options(11), &mut questions(4)));
    // By the count of work as well, which is the same on every machine.
    let by_work = |most| move |progress: &Progress| progress.work >= most;
    let one = solve(&problem, &options(12), &mut by_work(6_000_000));
    assert_eq!(one, solve(&problem, &options(12), &mut by_work(6_000_000)));
}

#[test]
fn progress_only_gets_better() {
    let mut last: Option<Progress> = None;
    let mut asked = 0;
    solve(&forty(), &options(1), &mut |progress| {
        if let Some(last) = &last {
            assert!(progress.makespan <= last.makespan && progress.lower_bound >= last.lower_bound);
            assert!(progress.work > last.work);
        }
        assert!(progress.lower_bound <= progress.makespan);
        last = Some(*progress);
        asked += 1;
        asked > 20
    });
    assert!(asked > 1, "proven before anything was seen");
}

#[test]
fn nothing_one_activity_and_a_chain() {
    let none = solve(&Problem::new(&[1], &[], &[], None).unwrap(), &options(1), &mut |_| false);
    assert_eq!((none.starts.len(), none.makespan, none.proven), (0, 0, true));
    let one = Problem::new(&[], &[Activity { duration: 4, demands: vec![] }], &[], None).unwrap();
    let one = solve(&one, &options(1), &mut |_| false);
    assert_eq!((one.starts, one.makespan, one.proven), (vec![0], 4, true));
    // A thousand in a chain, with a wait of two between: no other schedule ends so soon.
    let links: Vec<Link> = (1..1_000).map(|to| Link { from: to - 1, to, wait: Wait::Slots(2) }).collect();
    let work = vec![Activity { duration: 3, demands: vec![1] }; 1_000];
    let chain = solve(&Problem::new(&[1], &work, &links, None).unwrap(), &options(1), &mut |_| false);
    assert_eq!((chain.makespan, chain.proven), (1_000 * 3 + 999 * 2, true));
}

/// Priming in the last slot of an evening: it cures overnight, and only as many slots are lost as
/// the cure takes of working time.
#[test]
fn a_cure_over_night_costs_no_working_time() {
    // Three evenings of three hours from 19 h.
    let evenings: Vec<i64> = (0..3).flat_map(|day| (19..22).map(move |hour| 24 * day + hour)).collect();
    let work = |duration| Activity { duration, demands: vec![1] };
    let project = |first| Project {
        capacities: vec![1],
        activities: vec![work(first), work(2)],
        links: vec![Link { from: 0, to: 1, wait: Wait::Calendar(12) }],
        clock: Some((1, evenings.clone())),
    };
    // Primed until 22 h: cured by 10 h, and the next evening starts with the work.
    let solution = solve(&project(3).problem(), &options(1), &mut |_| false);
    assert_eq!((solution.starts, solution.makespan, solution.proven), (vec![0, 3], 5, true));
    // Primed until 20 h: the rest of the evening is lost, unless there is other work.
    let solution = solve(&project(1).problem(), &options(1), &mut |_| false);
    assert_eq!((solution.starts, solution.makespan, solution.proven), (vec![0, 3], 5, true));
    // A wait of the same twelve in working time takes four evenings.
    let mut slots = project(1);
    slots.links[0].wait = Wait::Slots(12);
    assert_eq!(solve(&slots.problem(), &options(1), &mut |_| false).makespan, 1 + 12 + 2);
}

#[test]
fn refusals_of_a_problem() {
    let work = |duration, demands: &[u32]| Activity { duration, demands: demands.to_vec() };
    let five = vec![work(1, &[1]); 5];
    let refused =
        |activities: &[Activity], links: &[Link]| Problem::new(&[2], activities, links, None).unwrap_err();
    let after = |pairs: &[(u32, u32)]| -> Vec<Link> {
        pairs.iter().map(|&(from, to)| Link::after(from, to)).collect()
    };
    let circle = refused(&five, &after(&[(0, 1), (1, 4), (4, 2), (2, 1), (2, 3)]));
    assert_eq!(circle, ProblemError::Circle { activities: vec![1, 4, 2] });
    assert_snapshot!(circle, @"these activities wait for each other: 1 before 4 before 2 before 1; take one of the links away");
    assert_eq!(refused(&five, &after(&[(3, 3)])), ProblemError::Circle { activities: vec![3] });
    assert_snapshot!(refused(&five, &after(&[(0, 5)])), @"activity 5 is named in a link, but the 5 activities are numbered from 0");
    assert_snapshot!(refused(&[work(1, &[3])], &[]), @"activity 0 wants 3 of resource 0, which has 2; take less or provide more");
    assert_snapshot!(refused(&[work(1, &[])], &[]), @"activity 0 has 0 demands; there are 1 resources, write one for each");
    let wait = Link { from: 0, to: 1, wait: Wait::Calendar(12) };
    assert_snapshot!(refused(&five, &[wait]), @"activity 1 waits for 0 in calendar time, but no clock says when the slots begin");
    let long = Link { from: 0, to: 1, wait: Wait::Slots(4_000_000) };
    assert_snapshot!(refused(&five, &[long]), @"one after another, all activities and waits take more than 4000000 slots; write longer slots");
    assert_snapshot!(Problem::new(&[1, 40_000], &[], &[], None).unwrap_err(), @"resource 1 has a capacity of 40000; 32767 is the largest that is counted");
    assert_snapshot!(Clock::new(2, vec![0, 2, 3]).unwrap_err(), @"slot 2 of the clock begins before the one before it has ended; write the slots in order");
    assert_eq!(Clock::new(2, vec![]).unwrap_err(), ProblemError::Clock { at: 0 });
    // What takes no time keeps nothing busy, however much it would want.
    assert!(Problem::new(&[2], &[work(0, &[3])], &[], None).is_ok());
}

/// Three jobs, the last after both others; the first two share one resource of 3.
const THREE: &str = "\
file with basedata            : three
projects                      :  1
jobs (incl. supersource/sink ):  3
horizon                       :  9
RESOURCES
  - renewable                 :  2   R
  - nonrenewable              :  0   N
  - doubly constrained        :  0   D
PRECEDENCE RELATIONS:
jobnr.    #modes  #successors   successors
   1        1          1           3
   2        1          1           3
   3        1          0
************************************************************************
REQUESTS/DURATIONS:
jobnr. mode duration  R 1  R 2
------------------------------------------------------------------------
  1      1     4       2    0
  2      1     3       2    1
  3      1     0       0    0
************************************************************************
RESOURCEAVAILABILITIES:
  R 1  R 2
    3    1
";

#[test]
fn the_forms_of_a_file() {
    let solution = solve(&read(THREE).unwrap(), &options(1), &mut |_| false);
    assert_eq!((solution.makespan, solution.proven, solution.starts[2]), (7, true, 7));
    let windows = THREE.replace('\n', "\r\n").replace("    3    1\r", "\t3\t1\t\r");
    assert_eq!(read(&windows).unwrap().end_of(&[0, 4, 7]), Some(7));
    assert_eq!(read(&windows).unwrap().end_of(&[0, 3, 7]), None);
}

#[test]
fn refusals_of_the_reader() {
    let refused = |from: &str, to: &str| {
        assert_eq!(THREE.matches(from).count(), 1, "{from} does not stand in the file once");
        read(&THREE.replace(from, to)).unwrap_err()
    };
    assert_snapshot!(read("").unwrap_err(), @r#"there is no line "PRECEDENCE RELATIONS:"; the file is not whole, or not of this format"#);
    assert_snapshot!(refused("RESOURCEAVAILABILITIES:", "*****"), @r#"there is no line "RESOURCEAVAILABILITIES:"; the file is not whole, or not of this format"#);
    assert_snapshot!(refused("jobs (incl", "work (incl"), @r#"there is no line "jobs"; the file is not whole, or not of this format"#);
    assert_snapshot!(refused("):  3", "):  many"), @r#"line 3: "many" is no number of jobs; write a whole number, 1 to 10000"#);
    assert_snapshot!(refused("0   N", "2   N"), @r#"line 7: "2" is no number of resources that are used up; none are read; write a whole number, 0 to 0"#);
    assert_snapshot!(refused("  1           3\n   2", "  1           4\n   2"), @r#"line 11: "4" is no job; write a whole number, 1 to 3"#);
    assert_snapshot!(refused("  1           3\n   2", "  2           3\n   2"), @"line 11: 4 numbers; write 5: job, ways of doing it, how many successors, and so many of them");
    assert_snapshot!(refused("  3        1          0\n", ""), @r#"job 3 has no row under "PRECEDENCE RELATIONS:"; write one for each of the 3 jobs"#);
    assert_snapshot!(refused("  2      1     3 ", "  1      1     3 "), @"line 19: job 1 has a row already; write one row for each job, and one way of doing it");
    assert_snapshot!(refused("  2      1     3 ", "  2      1     x "), @r#"line 19: "x" is no duration; write a whole number, 0 to 4000000"#);
    assert_snapshot!(refused("  2      1     3       2    1", "  2      1     3       2"), @"line 19: 4 numbers; write 5: job, way of doing it, duration, and a demand for each resource");
    assert_snapshot!(refused("    3    1\n", "    3\n"), @"line 22: 1 numbers; write 2: what there is of each resource");
    assert_snapshot!(refused("    3    1\n", "    1    1\n"), @"activity 0 wants 2 of resource 0, which has 1; take less or provide more; activity 0 is job 1 of the file, resource 0 is R 1");
    assert_snapshot!(refused("  3        1          0\n", "  3        1          1           1\n"), @"these activities wait for each other: 0 before 2 before 0; take one of the links away; activity 0 is job 1 of the file, resource 0 is R 1");
}

fn reference() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/reference/scheduling/psplib")
}

/// The published best: the optimum, or the better end of the two that it lies between.
struct Best {
    least: Option<u32>,
    most: u32,
}

fn published(folder: &Path) -> HashMap<String, Best> {
    let mut best = HashMap::new();
    for jobs in [30, 60, 90, 120] {
        let Ok(table) = std::fs::read_to_string(folder.join(format!("j{jobs}_best_known.csv"))) else {
            continue;
        };
        for line in table.lines().skip(1) {
            let (name, value) = line.split_once(',').unwrap();
            let (least, most) = value.split_once("..").unwrap_or((value, value));
            best.insert(name.to_owned(), Best { least: least.parse().ok(), most: most.parse().unwrap() });
        }
    }
    best
}

/// Most work for an instance, a small part of the ten seconds of the measurements.
const WORK: u64 = 400_000_000;

/// Needs more than [`WORK`] for 2 %, in one thread: 115 slots here, 112 or 113 in ten seconds of two.
const HARDEST: &str = "j6013_1.sm";

/// Every instance at hand: the optimum of those with 30 jobs, all others within 2 % of the best
/// known ([`HARDEST`] within 3 %), and no bound above what some schedule reaches. It ends where that
/// is reached; how near it comes in ten seconds is measured by the clock, in `docs/scheduling.md`.
#[test]
fn published_instances() {
    let folder = reference();
    let Ok(files) = std::fs::read_dir(&folder) else {
        println!("not run: reference files absent");
        return;
    };
    let best = published(&folder);
    let mut seen = 0;
    for path in
        files.map(|file| file.unwrap().path()).filter(|path| path.extension().is_some_and(|it| it == "sm"))
    {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let Some(best) = best.get(&name) else { continue };
        seen += 1;
        let problem = read(&std::fs::read_to_string(&path).unwrap()).unwrap();
        let enough = match name.as_str() {
            name if name.starts_with("j30") => best.most,
            HARDEST => best.most * 103 / 100,
            _ => best.most * 102 / 100,
        };
        let solution = solve(&problem, &options(1), &mut |progress| {
            progress.makespan <= enough || progress.work >= WORK
        });
        assert_eq!(problem.end_of(&solution.starts), Some(solution.makespan), "{name}");
        assert!(
            solution.lower_bound <= best.most,
            "{name}: bound {} over {}",
            solution.lower_bound,
            best.most
        );
        // A schedule better than the bound that others have proven would be a wrong one.
        assert!(best.least.is_none_or(|least| solution.makespan >= least), "{name}: {}", solution.makespan);
        assert!(solution.makespan <= enough, "{name}: {} is over {enough}", solution.makespan);
    }
    assert!(seen >= 15, "only {seen} instances found");
}
