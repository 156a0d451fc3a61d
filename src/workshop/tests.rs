//! Laws of the virtual workshop, and a small run as a table.

use proptest::prelude::*;

use super::engine::{KINDS, WORK_RIGHT, WORK_WRONG};
use super::*;
use facts::job::entry::{Reading, What};
use facts::knowledge::{Knowledge, Scope, embedded::embedded, load};
use measure::engine::{Place, Regime};
use measure::number::real;

fn known() -> Knowledge {
    load(embedded(), &[]).0.expect("the built-in knowledge base is sound")
}

fn job(field: &Field, seed: u64, number: u64) -> VirtualEngine {
    VirtualEngine::came_in(field, None, seed, number).expect("there are engines to draw")
}

const CHEAP: [Policy; 4] = [Policy::PartsFirst, Policy::Human, Policy::Cheapest, Policy::Oracle];

fn plan<'a>(known: &'a Knowledge, jobs: u64, policies: &'a [Policy], threads: usize) -> Plan<'a> {
    let preset = Some("inline-four-port");
    Plan { known, wrong: Wrong::Twice, preset, from: 1, jobs, seeds: &[1], policies, threads }
}

/// Whether a count out of `n` is what chance makes of a share, within four standard deviations.
fn within(count: usize, n: usize, share: f64) -> bool {
    let sd = (share * (1.0 - share) * real(n)).sqrt();
    (real(count) - share * real(n)).abs() <= 4.0 * sd + 0.5
}

/// The world stands apart from what is measured in it: of all files here only the player, who asks the
/// program as a mechanic would, may name diagnosis or plan.
#[test]
fn only_the_player_knows_diagnosis_and_plan() {
    const DOOR: &str = "player.rs";
    let folder = env!("CARGO_MANIFEST_DIR");
    let mut looked = 0;
    for entry in std::fs::read_dir(folder).expect("the folder is there") {
        let path = entry.expect("a file").path();
        let name = path.file_name().and_then(|name| name.to_str()).expect("a name").to_owned();
        if path.extension().is_none_or(|end| end != "rs") || name == "tests.rs" {
            continue;
        }
        let text = std::fs::read_to_string(&path).expect("text");
        let code = text.lines().map(|line| line.split("//").next().unwrap_or_default());
        let asks = code.filter(|line| {
            let named = |part: &str| {
                line.contains(&format!("{part}::")) || line.contains(&format!("::{part}"))
            };
            // What passes them on under another name would be a back door.
            ["diagnosis", "plan", "report", "session", "cli", "heat", "balance", "vehicle"]
                .into_iter()
                .any(named)
        });
        let asks: Vec<&str> = asks.collect();
        assert_eq!(asks.is_empty(), name != DOOR, "{name}: {asks:?}");
        looked += 1;
    }
    assert!(looked > 20, "{looked} files");
}

#[test]
fn the_number_of_threads_changes_nothing() {
    let known = known();
    let summed = |threads| {
        let plan = plan(&known, 30, &CHEAP, threads);
        summary(plan, &run(plan, &|_| {}))
    };
    assert_eq!(summed(1), summed(3));
}

#[test]
fn kinds_of_job_and_recent_work_have_their_shares() {
    let field = Field::of(&known(), Wrong::Twice, 5);
    let jobs: Vec<VirtualEngine> = (1..=600).map(|number| job(&field, 5, number)).collect();
    for (kind, share) in JobKind::ALL.iter().zip(KINDS) {
        let count = jobs.iter().filter(|job| job.kind == *kind).count();
        assert!(within(count, jobs.len(), share), "{kind}: {count}");
    }
    for job in &jobs {
        let faults = [0, 1, 2, 1][job.kind as usize];
        // Rarely the second draw is the first fault again.
        assert!(job.faults.len() == faults || job.kind == JobKind::Two, "{}", job.kind);
    }
    // Of the jobs whose first fault some work makes likelier: half were worked on so.
    let causes = &field.plain.causes;
    let speaks = |job: &VirtualEngine, flag: &str| {
        let causes = job.faults.iter().filter_map(|f| f.trouble.cause).map(|cause| &causes[cause]);
        causes.filter_map(|cause| cause.recent.get(flag)).any(|factor| *factor > 1.0)
    };
    let can = |job: &&VirtualEngine| field.plain.recent.iter().any(|work| speaks(job, &work.id));
    let able: Vec<&VirtualEngine> = jobs.iter().filter(can).collect();
    let right = able.iter().filter(|job| job.recent.iter().any(|flag| speaks(job, flag))).count();
    assert!(within(right, able.len(), WORK_RIGHT), "{right} of {}", able.len());
    let wrong = jobs.iter().filter(|job| job.recent.iter().any(|flag| !speaks(job, flag))).count();
    assert!(within(wrong, jobs.len(), WORK_WRONG), "{wrong}");
}

#[test]
fn who_knows_the_cause_spends_least_on_average() {
    let known = known();
    for &wrong in Wrong::ALL {
        let plan = Plan { wrong, ..plan(&known, 100, &CHEAP, 2) };
        let lines = summary(plan, &run(plan, &|_| {})).lines;
        let cost = |p: usize| lines[p].cost.mean;
        assert!((0..3).all(|p| cost(3) < cost(p)), "{wrong}: {lines:?}");
        assert_eq!(lines[3].healthy_parts.mean.to_bits(), 0.0_f64.to_bits(), "{wrong}");
        assert!(lines.iter().all(|line| line.never_ended.of.0 == 0), "{wrong}: lists end");
        assert_eq!(lines[3].false_proof.of.0, 0, "{wrong}");
    }
}

#[test]
fn a_job_by_the_program_is_counted_through() {
    let known = known();
    let policies = [Policy::Plan];
    let plan = plan(&known, 1, &policies, 1);
    let played = run(plan, &|_| {});
    let summed = summary(plan, &played);
    let trust = summed.trust.as_ref().expect("the program played");
    assert_eq!(trust.first.bins.iter().map(|b| b.claims).sum::<usize>(), 1);
    assert!(bars(&summed).iter().any(|bar| bar.what == "jobs without an end"));
    for outcome in played.iter().flat_map(|p| &p.outcomes) {
        assert!(outcome.claims.iter().all(|c| (0.0..=1.0 + 1e-9).contains(&c.top)));
        assert!(outcome.acts.len() <= Policy::Plan.patience());
        assert!(!outcome.false_proof || outcome.ended == Ended::Said(Verdict::Proven));
        let entered = |trouble: &Trouble| {
            outcome.journal.entries.iter().any(|entry| {
                matches!(&entry.what,
                What::Remedy { .. } if trouble.cause.is_some())
            })
        };
        assert!(outcome.put_right.iter().all(entered), "nothing is put right that was not done");
    }
}

#[test]
fn a_remedy_of_the_true_cause_ends_the_oddness_nearly_always() {
    let field = Field::of(&known(), Wrong::Nothing, 1);
    let (mut done, mut cured) = (0, 0);
    for number in 1..200 {
        let job = job(&field, 1, number);
        let [fault] = job.faults.as_slice() else { continue };
        let Some(cause) = fault.trouble.cause else { continue };
        let mut world = World::open(&field, &job);
        world.act(Act::Remedy { cause, place: fault.trouble.place });
        done += 1;
        cured += usize::from(world.gone[0] == Some(Gone::Aimed));
        assert_eq!(world.parts_in_vain, 0, "what was renewed was faulty");
    }
    assert!(done > 100 && within(cured, done, 0.96), "{cured} of {done}");
}

#[test]
fn slips_and_typing_errors_have_their_shares() {
    let field = Field::of(&known(), Wrong::Nothing, 3);
    // Sound engines: a number far off what the last one was is typed wrongly.
    let (mut wrong, mut numbers) = (0, 0);
    for number in 1..120 {
        let job = job(&field, 3, number);
        if job.kind != JobKind::Sound || job.early.is_some() {
            continue;
        }
        let mut world = World::open(&field, &job);
        for _ in 0..60 {
            world.act(Act::Read { at: fixture::at(Regime::Cruise) });
            let (_, readings) = world.last.clone().expect("was read");
            for (own, reading) in job.nature.offset.iter().zip(readings) {
                let Reading::Degrees(shown) = reading else {
                    panic!("sound displays show numbers")
                };
                let k = Regime::Cruise as usize;
                let off = shown.value() - job.nature.level[k] - own[k];
                wrong += usize::from(off.abs() > 6.0 * job.nature.noise[k] + 1.0);
                numbers += 1;
            }
        }
    }
    // Some slips are too small to be told from noise, and some give the same digit.
    assert!(numbers > 2000, "{numbers}");
    let share = real(wrong) / real(numbers);
    assert!((0.001..=reading::MISTYPED * 1.5).contains(&share), "{wrong} of {numbers}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn the_same_seed_gives_the_same_bytes(seed in 0_u64..10_000, which in 0..Wrong::ALL.len()) {
        let known = known();
        let field = Field::of(&known, Wrong::ALL[which], seed);
        let one = job(&field, seed, 1);
        prop_assert_eq!(&one, &job(&field, seed, 1));
        let (a, b) = (World::open(&field, &one), World::open(&field, &one));
        prop_assert_eq!(&a.journal, &b.journal);
    }

    /// What the world answers hangs on what is asked and how often, not on who asks or what else he did.
    #[test]
    fn answers_do_not_hang_on_the_way_of_working(
        seed in 0_u64..10_000,
        first in 0_usize..1000,
        others in prop::collection::vec(0_usize..1000, 1..6),
    ) {
        let known = known();
        let field = Field::of(&known, Wrong::Twice, seed);
        let job = job(&field, seed, 1);
        // Tests that only look.
        let looks: Vec<usize> = (0..known.tests.len())
            .filter(|&t| {
                let test = &known.tests[t];
                let alone = test.item.is_none() && test.reseats.is_empty() && test.replaces.is_empty();
                test.applies.holds(&job.engine) && alone
            })
            .collect();
        let act = |t: usize| {
            let test = looks[t % looks.len()];
            let cylinder = (known.tests[test].scope == Scope::Cylinder).then_some(1);
            Act::Test { test, cylinder, partner: None, at: None }
        };
        let mut one = World::open(&field, &job);
        let alone = one.act(act(first));
        let mut two = World::open(&field, &job);
        for &other in others.iter().filter(|&&other| act(other) != act(first)) {
            two.act(act(other));
        }
        prop_assert_eq!(two.act(act(first)), alone);
        // The same of readings.
        let read = Act::Read { at: fixture::at(Regime::Idle) };
        one.act(read);
        two.act(read);
        prop_assert_eq!(one.last, two.last);
    }

    #[test]
    fn readings_are_entries_like_any_others(seed in 0_u64..10_000) {
        let known = known();
        let field = Field::of(&known, Wrong::Nothing, seed);
        let job = job(&field, seed, 1);
        let mut world = World::open(&field, &job);
        let before = world.timeline.sets.len();
        world.act(Act::Read { at: fixture::at(Regime::Idle) });
        prop_assert_eq!(world.timeline.sets.len(), before + 1);
        prop_assert!(world.timeline.unknown.is_empty());
        prop_assert!(world.spent().total(known.constants.rates) > 0.0);
    }

    /// The world's own account of who is where and the job's agree.
    #[test]
    fn parts_go_where_the_job_says(seed in 0_u64..10_000, swaps in prop::collection::vec((0_usize..7, 1_u8..5, 1_u8..5), 0..8)) {
        use facts::knowledge::{Item, Seat};
        let known = known();
        let field = Field::of(&known, Wrong::Nothing, seed);
        let job = VirtualEngine::came_in(&field, Some("inline-four-port"), seed, 1).expect("drawn");
        let mut world = World::open(&field, &job);
        for (item, a, b) in swaps {
            if a != b {
                world.act(Act::PutBack { item: Item::ALL[item], a, b });
            }
        }
        let travels = job.engine.depth_travels();
        for &seat in &[Seat::Probe, Seat::Lead, Seat::Injector, Seat::Plug, Seat::Coil, Seat::HtLead, Seat::Channel] {
            for number in job.engine.all() {
                let own = world.parts.cylinder(&job.engine, seat, number);
                prop_assert_eq!(own, world.timeline.arrangement.cylinder_of(seat, number, travels), "{}", seat);
            }
        }
        for display in job.engine.all() {
            let own = world.parts.path(display, &[]).cylinder;
            prop_assert_eq!(own, world.timeline.arrangement.cylinder_shown(display));
        }
    }
}

#[test]
fn the_search_always_ends_it() {
    let field = Field::of(&known(), Wrong::Thrice, 2);
    for number in 1..20 {
        let job = job(&field, 2, number);
        let mut world = World::open(&field, &job);
        assert_eq!(world.act(Act::Search), Shown::Found);
        assert!(!came_back(&mut world, Ended::Searched));
        let place = Place::Cylinder(1);
        assert!(places(&field.plain.causes[0], &job.engine).contains(&place));
    }
}

/// Who looks at an engine that runs sees what the fault does there, and nothing of what it does elsewhere.
#[test]
fn a_look_at_idle_is_silent_about_what_shows_at_full_load_alone() {
    let field = Field::of(&known(), Wrong::Nothing, 3);
    let mut spoke = [0; 2];
    let mut asked = 0;
    for number in 1..200 {
        let mut job = job(&field, 3, number);
        let [fault] = job.faults.as_mut_slice() else { continue };
        let test = field.plain.test("misfire-count").expect("it is in the list");
        let known = &field.plain.tests[test];
        let given = fault.trouble.cause.and_then(|cause| known.given.get(&cause));
        let (Some(row), Some(&cylinder)) = (given, fault.numbers.first()) else { continue };
        if !known.applies.holds(&job.engine) || row[known.usual()] > 0.3 {
            continue;
        }
        fault.effect.shift = [0.0, 0.0, 0.0, 0.0, -200.0];
        fault.effect.comes_and_goes = None;
        asked += 1;
        for (spoke, at) in spoke.iter_mut().zip([Regime::Idle, Regime::Full]) {
            let mut world = World::open(&field, &job);
            let at = Some(fixture::at(at));
            let act = Act::Test { test, cylinder: Some(cylinder), partner: None, at };
            *spoke += u32::from(world.act(act) != Shown::Outcome(known.usual()));
        }
    }
    assert!(asked > 10 && spoke[0] * 5 < asked && spoke[1] * 2 > asked, "{spoke:?} of {asked}");
}

/// What makes a sound part look odd goes with the part: after a new one another is looked at.
#[test]
fn a_new_part_is_looked_at_afresh() {
    let field = Field::of(&known(), Wrong::Nothing, 4);
    let test = field.plain.test("look-part").expect("it is in the list");
    let usual = Shown::Outcome(field.plain.tests[test].usual());
    let probe = |cause: &&facts::knowledge::Cause| cause.id == "probe-odd-build";
    let cause =
        field.plain.causes.iter().position(|cause| probe(&cause)).expect("it is in the list");
    let (mut odd, mut still, mut still_after) = (0, 0, 0);
    for number in 1..1500 {
        let job = job(&field, 4, number);
        if job.kind != JobKind::Sound {
            continue;
        }
        let act = Act::Test { test, cylinder: Some(1), partner: None, at: None };
        let mut world = World::open(&field, &job);
        if world.act(act) == usual {
            continue;
        }
        odd += 1;
        let mut other = world.clone();
        still += u32::from(world.act(act) != usual);
        other.act(Act::Remedy { cause, place: Place::Cylinder(1) });
        still_after += u32::from(other.act(act) != usual);
    }
    assert!(odd > 3 && still * 2 > odd && still_after * 2 < odd, "{odd} {still} {still_after}");
}
