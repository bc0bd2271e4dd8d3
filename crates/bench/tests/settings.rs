//! Settings of a squeezer: the choice against every subset of small tools, and
//! the facts of the trade with the odds of the call-out.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use faying_bench::settings::{Adjust, Costs, Group, Head, Setting, Settings, Spring, Stand, choose, opening};
use faying_joint::callout::{InForce, Landing, limits_in_force};
use faying_joint::constants::Constants;
use faying_joint::head::Heights;
use faying_joint::seats::{HeadOn, Seats, Sheet, seats};
use faying_plan::Preparation;
use faying_standards::{Dash, Force, Length, figures, inches};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn dash(text: &str) -> Dash {
    Dash::read(text).unwrap()
}

fn mil(thousandths: f64) -> Length {
    inches(thousandths / 1e3)
}

/// A group of which only heights are known.
fn window(count: usize, length: &str, g: f64, heights: (f64, f64), u: f64) -> Group {
    let heights = Heights { least: mil(heights.0), most: mil(heights.1) };
    Group::of_heights(format!("{length} in {g}"), count, dash(length), mil(g), heights, mil(u))
}

fn stack(kind: &str, sheets: &[f64]) -> (Seats, InForce) {
    let sheets: Vec<Sheet> =
        sheets.iter().map(|&t| Sheet { thickness: inches(t), preparation: Preparation::Plain }).collect();
    let seats = seats(kind.parse().unwrap(), &sheets, HeadOn::First, None, &Constants::standard()).unwrap();
    let in_force = limits_in_force(seats.kind, None, &[]).unwrap();
    (seats, in_force)
}

/// A group with the odds of the call-out.
fn group(kind: &str, sheets: &[f64], length: &str, count: usize, spring: Spring) -> Group {
    let (seats, in_force) = stack(kind, sheets);
    let landing = Landing::of(&seats, &in_force.limits, dash(length), &Constants::standard()).unwrap();
    Group::new(format!("{kind}{length}"), count, dash(length), seats.seat_to_seat, landing, spring)
}

/// The ram stands where the first group would be set best.
fn stand(groups: &[Group]) -> Stand {
    Stand { x: groups[0].best().0, fitted: Vec::new() }
}

fn groups_of(setting: &Setting) -> Vec<usize> {
    setting.groups.iter().map(|placed| placed.group).collect()
}

/// Up to six groups and a tool of up to eight set lengths.
fn random(rng: &mut ChaCha8Rng) -> (Vec<Group>, Vec<Length>) {
    let groups = (0..rng.random_range(1..=6))
        .map(|_| {
            let least = rng.random_range(36.0..52.0);
            let most = least + rng.random_range(8.0..24.0);
            let length = ["-3", "-4", "-5"][rng.random_range(0..3)];
            let g = f64::from(rng.random_range(50_u32..100));
            window(rng.random_range(1..60), length, g, (least, most), rng.random_range(0.5..3.0))
        })
        .collect();
    let sets = (0..rng.random_range(1..=8)).map(|_| mil(f64::from(rng.random_range(400_u32..470)))).collect();
    (groups, sets)
}

/// The rule of sharing, written once more: where a group may be set.
fn may(groups: &[Group], points: &[Length]) -> Vec<Vec<bool>> {
    let keep = figures().constant("shared-setting").value;
    groups
        .iter()
        .map(|group| {
            let p: Vec<f64> = points.iter().map(|&x| group.p_at(x)).collect();
            let best = p.iter().copied().fold(0.0, f64::max);
            p.iter().map(|&p| p >= if best >= keep { keep } else { best - 1e-6 }).collect()
        })
        .collect()
}

/// x of every set of a tool, the set of .430 in at x = .125.
fn points(sets: &[Length]) -> Vec<Length> {
    let mut points: Vec<Length> = sets.iter().map(|&set| mil(125.0) + (mil(430.0) - set)).collect();
    points.sort_unstable();
    points.dedup();
    points
}

fn chosen(groups: &[Group], sets: &[Length], costs: Costs) -> Settings {
    let stand = Stand { x: mil(125.0), fitted: vec![mil(430.0)] };
    choose(groups, &Adjust::SetLengths(sets.to_vec()), &stand, costs)
}

/// Cost form: no subset of the sets in hand costs less.
#[test]
fn a_thousand_choices_cost_what_all_subsets_say() {
    let mut rng = ChaCha8Rng::seed_from_u64(20_470);
    let (mut compared, mut shared) = (0, 0);
    for case in 0..1000 {
        let (mut groups, sets) = random(&mut rng);
        let points = points(&sets);
        groups.retain(|group| points.iter().any(|&x| group.p_at(x) > 1e-6));
        let costs = Costs { set_up: rng.random_range(30.0..600.0), removal: rng.random_range(0.0..400.0) };
        let found = chosen(&groups, &sets, costs);
        assert!(found.unreached.is_empty(), "case {case}");
        if groups.is_empty() {
            continue;
        }
        let may = may(&groups, &points);
        let least = (1_u32..1 << points.len())
            .map(|open| {
                let is_open = |point: &usize| open & 1 << point != 0;
                let served: f64 = groups
                    .iter()
                    .zip(&may)
                    .map(|(group, may)| {
                        let p = (0..points.len())
                            .filter(|point| is_open(point) && may[*point])
                            .map(|point| group.p_at(points[point]))
                            .fold(f64::NEG_INFINITY, f64::max);
                        group.count as f64 * (1.0 - p) * costs.removal
                    })
                    .sum();
                // A group that no open set serves has p = −∞ and costs without end, unless removals are free.
                let all = may.iter().all(|may| (0..points.len()).any(|point| is_open(&point) && may[point]));
                if all { f64::from(open.count_ones()) * costs.set_up + served } else { f64::INFINITY }
            })
            .fold(f64::INFINITY, f64::min);
        assert!(
            (found.total.seconds - least).abs() < 0.01,
            "case {case}: {:?}, all subsets {least}",
            found.total
        );
        assert!(found.lower_bound <= found.total.seconds + 1e-6, "case {case}");
        assert_eq!(found.total.settings, found.settings.len());
        compared += 1;
        shared += usize::from(found.settings.iter().any(|setting| setting.groups.len() > 1));
    }
    assert!(compared > 900 && shared > 200, "{compared} compared, {shared} with a shared setting");
}

/// Stabbing form: where a removal costs nothing the settings are the fewest there are.
#[test]
fn a_thousand_choices_without_rework_are_the_fewest_settings() {
    let mut rng = ChaCha8Rng::seed_from_u64(20_426);
    let mut compared = 0;
    for case in 0..1000 {
        let (mut groups, sets) = random(&mut rng);
        let points = points(&sets);
        groups.retain(|group| points.iter().any(|&x| group.p_at(x) > 1e-6));
        if groups.is_empty() {
            continue;
        }
        let may = may(&groups, &points);
        let least = (1_u32..1 << points.len())
            .filter(|open| {
                may.iter().all(|may| (0..points.len()).any(|point| open & 1 << point != 0 && may[point]))
            })
            .map(u32::count_ones)
            .min()
            .unwrap();
        let found = chosen(&groups, &sets, Costs { set_up: 100.0, removal: 0.0 });
        assert_eq!(found.least_settings, least as usize, "case {case}");
        assert_eq!(found.settings.len(), least as usize, "case {case}");
        assert!((found.lower_bound - found.total.seconds).abs() < 1e-9);
        compared += 1;
    }
    assert!(compared > 900, "{compared}");
}

const COSTS: Costs = Costs { set_up: 240.0, removal: 300.0 };

/// .064 and .072 in 1/8: windows of .020, the stacks .008 apart. Each is .004 from its middle in
/// a shared setting, .006 from the end of its window: 2.31 u, and Φ(2.31) is .9895, just short
/// of .99. A yoke that gives as practice has it takes part of the .008: the thicker
/// stack is pressed harder and springs the yoke farther. With it they share.
#[test]
fn an_eighth_shares_064_and_072_on_a_yoke_that_gives() {
    let two = |spring: Spring| {
        [
            group("MS20470AD4", &[0.032, 0.032], "-4", 30, spring),
            group("MS20470AD4", &[0.032, 0.040], "-4", 30, spring),
        ]
    };
    let stiff = two(Spring::STIFF);
    let between = stiff[0].x_at(mil(64.0));
    for group in &stiff {
        assert_eq!(group.heights().most - group.heights().least, mil(20.0));
        assert!((group.p_at(between) - 0.9895).abs() < 2e-4, "{}", group.p_at(between));
    }
    assert_eq!(choose(&stiff, &Adjust::Free, &stand(&stiff), COSTS).settings.len(), 2);

    let gives = two(Spring::practice());
    let found = choose(&gives, &Adjust::Free, &stand(&gives), COSTS);
    assert_eq!(found.settings.len(), 1, "{found:?}");
    assert!(found.total.p_least >= 0.99);
    assert_eq!((found.per_length.settings, found.per_grip.settings), (1, 2));
    assert!(found.total.seconds < found.per_grip.seconds);

    // .064 and .070, two thousandths nearer, share on any yoke: .007 is 2.69 u, and Φ is .996.
    let near = [
        group("MS20470AD4", &[0.032, 0.032], "-4", 30, Spring::STIFF),
        window(30, "-4", 70.0, (50.0, 70.0), 2.6),
    ];
    assert_eq!(choose(&near, &Adjust::Free, &stand(&near), COSTS).settings.len(), 1);
}

/// 3/32 has a window of .012: 2.31 u on either side of its middle, 2·Φ(2.31) − 1 = .979 at best.
/// No aim reaches .99, so every grip has its own setting, at its middle.
#[test]
fn three_thirty_seconds_has_one_setting_for_each_grip() {
    for spring in [Spring::STIFF, Spring::practice()] {
        let groups = [
            group("MS20470AD3", &[0.025, 0.025], "-3", 40, spring),
            group("MS20470AD3", &[0.025, 0.032], "-3", 40, spring),
            group("MS20470AD3", &[0.032, 0.032], "-3.5", 40, spring),
        ];
        for group in &groups {
            assert_eq!(group.heights().most - group.heights().least, mil(12.0));
        }
        let found = choose(&groups, &Adjust::Free, &stand(&groups), COSTS);
        assert_eq!(found.settings.len(), 3);
        for setting in &found.settings {
            let [placed] = setting.groups[..] else { panic!("{setting:?}") };
            assert!(placed.p < 0.98 && placed.p > 0.97, "{placed:?}");
            assert!((placed.p_best - placed.p).abs() < 0.005, "{placed:?}");
            let middle = groups[placed.group].heights().middle();
            assert!((placed.height - middle).abs() <= mil(1.0), "{placed:?}");
        }
    }
}

/// Two lengths in one setting are listed one after the other, thin before thick.
#[test]
fn one_length_at_a_time_inside_a_setting() {
    let groups = [
        window(5, "-5", 80.0, (50.0, 80.0), 2.0),
        window(5, "-4", 82.0, (50.0, 80.0), 2.0),
        window(5, "-5", 79.0, (50.0, 80.0), 2.0),
        window(5, "-4", 78.0, (50.0, 80.0), 2.0),
        window(9, "-6", 200.0, (50.0, 80.0), 2.0),
    ];
    let found = choose(&groups, &Adjust::Free, &stand(&groups), COSTS);
    let all: Vec<Vec<usize>> = found.settings.iter().map(groups_of).collect();
    assert_eq!(all, [vec![3, 1, 2, 0], vec![4]]);
    assert_eq!((found.per_length.settings, found.per_grip.settings), (3, 5));
    // The first four are between .078 and .082: the middle of them is at .080, the last at .200.
    let by = found.settings[1].x - found.settings[0].x;
    assert!((by - mil(120.0)).abs() <= mil(1.0), "{}", by.decimal());
    assert!(found.settings[1].change.to_string().ends_with("more open"));
}

/// G .064 and .084 with windows of .020: where one has its middle, the other is .010 (3.85 u) outside
/// its end. One setting for the length gives up one of them, or half of both: ten removals.
#[test]
fn the_other_ways_of_choosing_are_counted() {
    let groups = [window(10, "-4", 64.0, (50.0, 70.0), 2.6), window(10, "-4", 84.0, (50.0, 70.0), 2.6)];
    let found = choose(&groups, &Adjust::Free, &stand(&groups), COSTS);
    assert_eq!((found.per_length.settings, found.per_grip.settings), (1, 2));
    assert!((found.per_length.removals - 10.0).abs() < 0.01, "{:?}", found.per_length);
    assert!((found.per_length.seconds - (240.0 + 10.0 * 300.0)).abs() < 3.0);
    // 2 · (1 − Φ(3.846)) = .00012 of twenty.
    assert!((found.per_grip.removals - 0.0024).abs() < 1e-4, "{:?}", found.per_grip);
    assert_eq!(found.total, found.per_grip);
    assert!((found.total.seconds - found.lower_bound).abs() < 1e-3);
    // With a removal of no time the one setting is still not taken: neither would keep .99.
    let free = choose(&groups, &Adjust::Free, &stand(&groups), Costs { removal: 0.0, ..COSTS });
    assert_eq!(free.settings.len(), 2);
}

/// Every place of the theory chapter that is cited is a heading of it.
#[test]
fn what_is_cited_is_in_the_theory_chapter() {
    let theory = include_str!("../../../docs/theory.md").to_lowercase();
    let groups = [window(10, "-4", 64.0, (50.0, 70.0), 2.6)];
    let settings = choose(&groups, &Adjust::Free, &stand(&groups), COSTS);
    let head = groups[0].head_at(mil(60.0));
    let mut working = settings.working(&groups, COSTS);
    working.append(opening(&head, &head, Spring::STIFF).working);
    let own = ["settings", "learning"].map(String::from);
    let cited = working.figures().iter().filter(|line| line.source.source == "theory");
    for place in cited.map(|line| line.source.place.to_lowercase()).chain(own) {
        assert!(theory.contains(&format!("\n## {place}\n")), "no heading \"{place}\"");
    }
}

/// Quarter turns of a 20-thread ram are .0125: what cannot be set is left at the nearest step, and
/// its odds say so.
#[test]
fn the_steps_of_the_tool_are_kept() {
    let groups = [window(10, "-4", 64.0, (50.0, 70.0), 2.6), window(10, "-5", 110.0, (50.0, 70.0), 2.6)];
    let ram = Adjust::Turns { per_inch: 20.0, part_of_turn: 4 };
    let found = choose(&groups, &ram, &stand(&groups), COSTS);
    // .046 more open is 3.68 quarter turns; four are .050, .004 higher than the middle.
    assert_eq!(found.settings[1].change.by, mil(50.0));
    assert_eq!(found.settings[1].change.to_string(), ".050 more open: 1 turn out (.050)");
    let placed = found.settings[1].groups[0];
    assert!((placed.height - mil(64.0)).abs() < mil(0.5), "{placed:?}");
    assert!((placed.p - 0.9895).abs() < 0.003 && placed.p_best > 0.9998, "{placed:?}");

    let none = choose(&groups, &Adjust::SetLengths(Vec::new()), &stand(&groups), COSTS);
    assert_eq!((none.unreached, none.settings.len()), (vec![0, 1], 0));
    let nothing = choose(&[], &ram, &Stand { x: Length::ZERO, fitted: Vec::new() }, COSTS);
    assert!(nothing.settings.is_empty() && nothing.total.seconds == 0.0);
}

/// ΔS = ΔG + Δh − ΔF/k: from .080 and .060 at 2,000 lbf to .143 and .058 at 2,500 lbf on a yoke of
/// 8 millionths of an inch for a pound: .063 − .002 − .004 = .057.
#[test]
fn a_change_is_that_of_seats_height_and_spring() {
    let from = Head { seat_to_seat: mil(80.0), height: mil(60.0), force: Some(Force::from_lbf(2000.0)) };
    let to = Head { seat_to_seat: mil(143.0), height: mil(58.0), force: Some(Force::from_lbf(2500.0)) };
    let spring = Spring { per_lbf: 8e-6, u: 2e-6 };
    let found = opening(&from, &to, spring);
    assert_eq!((found.by, found.u, found.spring_in), (mil(57.0), mil(1.0), true));
    assert_eq!(opening(&to, &from, spring).by, mil(-57.0));
    let line = &found.working.figures()[0];
    assert_eq!(line.put_in, "(.143 − .080) + (.058 − .060) − (500 lbf × 8.0 in per million lbf)");
    assert_eq!(line.result, ".057 more open");
    let unknown = opening(&from, &Head { force: None, ..to }, spring);
    assert_eq!((unknown.by, unknown.u, unknown.spring_in), (mil(61.0), Length::ZERO, false));
}

/// A three-inch throat opens by .010 to .020 at 1,906 lbf: .015 in the middle.
#[test]
fn practice_says_how_far_a_yoke_springs() {
    let spring = Spring::practice();
    assert!((spring.per_lbf * 1906.0 - 0.015).abs() < 5e-5);
    assert!((spring.u * 1906.0 - 0.005 / 3_f64.sqrt()).abs() < 5e-5);
}

/// Height to gap and back, and P(height) with one peak along the gap: for many stacks, lengths and yokes.
#[test]
fn the_odds_of_every_group_have_one_peak() {
    let mut count = 0;
    for (kind, length) in
        [("MS20470AD3", "-3"), ("MS20470AD3", "-4"), ("MS20470AD4", "-4"), ("MS20470AD4", "-5")]
    {
        for sheets in
            [&[0.025, 0.025][..], &[0.032, 0.040], &[0.040, 0.040], &[0.063, 0.040], &[0.063, 0.040, 0.040]]
        {
            for most_width in [None, Some(1.66)] {
                for per_lbf in [0.0, 8e-6, 2e-5] {
                    let (seats, in_force) = stack(kind, sheets);
                    let mut limits = in_force.limits.clone();
                    let shank = seats.kind.diameter.length().inches();
                    limits.max_width = most_width.map(|d: f64| inches(d * shank));
                    let constants = Constants::standard();
                    let Some(landing) = Landing::of(&seats, &limits, dash(length), &constants) else {
                        continue;
                    };
                    let spring = Spring { per_lbf, u: 0.0 };
                    let group = Group::new("", 1, dash(length), seats.seat_to_seat, landing, spring);
                    let mut p = Vec::new();
                    for step in 0..120 {
                        let height = mil(20.0 + 0.5 * f64::from(step));
                        let x = group.x_at(height);
                        assert!((group.height_at(x).unwrap() - height).abs() < mil(0.001));
                        p.push(group.p_at(x));
                    }
                    let best = p.iter().copied().fold(0.0, f64::max);
                    let at = p.iter().position(|&p| p == best).unwrap();
                    let noise = 1e-6;
                    for pair in p[..=at].windows(2) {
                        assert!(pair[1] >= pair[0] - noise, "{kind}{length} {sheets:?}: {p:?}");
                    }
                    for pair in p[at..].windows(2) {
                        assert!(pair[1] <= pair[0] + noise, "{kind}{length} {sheets:?}: {p:?}");
                    }
                    assert!(group.best().1 >= best - 1e-6, "{} of {best}", group.best().1);
                    let slope = group.x_per_height(group.heights().middle());
                    assert!(
                        if per_lbf == 0.0 { (slope - 1.0).abs() < 1e-3 } else { slope > 1.05 },
                        "{slope}"
                    );
                    count += 1;
                }
            }
        }
    }
    assert!(count > 40, "{count}");
}

/// A wing's worth of groups: all are placed, no cheaper than the bound, and every line is worked.
#[test]
fn forty_groups_are_all_placed() {
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    let thicknesses = [0.020, 0.025, 0.032, 0.040, 0.050, 0.063];
    let mut groups = Vec::new();
    while groups.len() < 40 {
        let sheets: Vec<f64> = (0..rng.random_range(2..=3))
            .map(|_| thicknesses[rng.random_range(0..thicknesses.len())])
            .collect();
        let length = ["-3.5", "-4", "-4.5", "-5"][rng.random_range(0..4)];
        let (seats, in_force) = stack("MS20470AD4", &sheets);
        let landing = Landing::of(&seats, &in_force.limits, dash(length), &Constants::standard());
        if let Some(landing) = landing {
            let count = rng.random_range(4..80);
            groups.push(Group::new(
                format!("{sheets:?}"),
                count,
                dash(length),
                seats.seat_to_seat,
                landing,
                Spring::practice(),
            ));
        }
    }
    let ram = Adjust::Turns { per_inch: 20.0, part_of_turn: 8 };
    let found = choose(&groups, &ram, &stand(&groups), COSTS);
    assert!(found.settings.len() >= found.least_settings);
    assert_eq!(found.settings.iter().map(|setting| setting.groups.len()).sum::<usize>(), 40);
    assert!(found.lower_bound <= found.total.seconds);
    for setting in &found.settings {
        for placed in &setting.groups {
            let group = &groups[placed.group];
            assert!((group.p_at(setting.x) - placed.p).abs() < 1e-6);
            // A ram of 20 threads in eighths goes by .00625; what keeps no .99 stands at its best step.
            let beside = [-6.25, 6.25].map(|step| group.p_at(setting.x + mil(step)));
            assert!(
                placed.p >= 0.99 || beside.iter().all(|&p| p <= placed.p + 1e-6),
                "{placed:?} {beside:?}"
            );
        }
    }
    let working = found.working(&groups, COSTS);
    assert_eq!(working.figures().len(), 40 + 4);
    assert!(working.figures()[43].result == format!("{:.0} s", found.lower_bound));
}
