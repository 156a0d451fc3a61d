//! Fitting plans as they are printed, whole.

use insta::assert_snapshot;

use super::{FitPlanInput, fit_plan, fit_plan_at_a_glance};
use crate::report::{Doc, Style, text};
use measure::probe::fit_plan::trial::{ENGINES, trial};
use measure::probe::fit_plan::{Probe, Runner, Wish, plan};
use measure::units::Scale;

fn plain(doc: &Doc) -> String {
    text::render(doc, 80, Style::Plain)
}

/// An invented five: one runner narrow, one bent early, one with a short lead.
fn five() -> Vec<Runner> {
    let probe = Probe { diameter_mm: 3.0, length_mm: Some(80.0), lead_mm: Some(1500.0) };
    let usual = Runner {
        straight_to_mm: Some(120.0),
        boss_mm: Some(22.0),
        to_box_mm: Some(1200.0),
        probe,
        ..Runner::straight(44.0)
    };
    let narrow = Runner { bore_mm: 40.0, ..usual };
    let bent = Runner { straight_from_mm: 40.0, straight_to_mm: Some(200.0), ..usual };
    let far = Runner { to_box_mm: Some(1600.0), ..usual };
    vec![usual, usual, narrow, bent, far]
}

#[test]
fn a_plan_on_one_screen() {
    let plan = plan(&five(), Wish::default()).expect("can be");
    let input = FitPlanInput { plan: &plan, trial: None };
    let page = plain(&fit_plan_at_a_glance(input, Scale::Celsius, "More: `x --detail`."));
    assert!(page.lines().count() <= 22);
    assert_snapshot!(page, @r"
    Fitting plan for 5 probes
    =========================
    From the flange:         50 mm, ± 6 mm, where it can be had
    Tip past the inner wall: 20 mm, ± 0.6 mm
    Mark on the stem:        42 mm from the tip
    Kept so, fitting alone keeps healthy displays of like runners within 10 °C of
    each other in 95 of 100 engines, at idle, cruise and full load.
    cylinder  bore  from flange  depth  mark             lead
    --------  ----  -----------  -----  ----  ---------------
    1, 2        44           50     20    42             1400
    3           40           50     20    42             1400
    4           44         128*     20    42             1400
    5           44           50     20    42  1800, 300 short
    - Cylinder 4 (*): a bend or the flange is in the way of the common distance.
    off when healthy  warm idle, °C  steady cruise, °C  full load, °C
    ----------------  -------------  -----------------  -------------
    3                    +6.7 ± 3.2         +7.1 ± 2.5     +7.0 ± 2.0
    4                     -15 ± 7.3          -12 ± 5.7     -9.1 ± 4.3
    Caution: manifold off and cold, no swarf left in it, goggles, a hoist. What the
             engine builder says of drilling and welding comes first.
    More: `x --detail`.
    ");
}

#[test]
fn a_whole_sheet() {
    let plan = plan(&five(), Wish { within: 6.0, ..Wish::default() }).expect("can be");
    let tried = trial(&plan, ENGINES, 1);
    let input = FitPlanInput { plan: &plan, trial: Some(&tried) };
    assert_snapshot!(plain(&fit_plan(input, Scale::Fahrenheit)), @r"
    Fitting plan for 5 probes
    =========================
    From the flange:         50 mm, ± 3 mm, where it can be had
    Tip past the inner wall: 20 mm, ± 0.3 mm
    Mark on the stem:        42 mm from the tip

    Kept so, fitting alone keeps healthy displays of like runners within 11 °F of
    each other in 95 of 100 engines, at idle, cruise and full load. But that is
    finer than a rule and a pen keep on a stem, ± 0.5 mm (common practice): with
    that it is 13 °F. Thinner probes help.

    cylinder  bore  from flange  depth  mark             lead
    --------  ----  -----------  -----  ----  ---------------
    1, 2        44           50     20    42             1400
    3           40           50     20    42             1400
    4           44         128*     20    42             1400
    5           44           50     20    42  1800, 300 short

    - Cylinder 4 (*): a bend or the flange is in the way of the common distance.

    off when healthy  warm idle, °F  steady cruise, °F  full load, °F
    ----------------  -------------  -----------------  -------------
    3                     +12 ± 5.8          +13 ± 4.5      +13 ± 3.6
    4                      -27 ± 13           -22 ± 10      -16 ± 7.8

    - Off when healthy: take it off a display before you compare it.
    - Mark: mm from the tip, flush with the top of the fitting.
    - Cylinder 5: the lead is short. Join on cable of the probe's own type, both
      legs, plus to plus.
    - A millimetre of depth is worth up to 13 °F, one along the runner 0.6.

    Caution: drill with the manifold off and cold, and clear it of swarf: what stays
             in goes through a turbine or a catalyst. Goggles, gloves off near the
             drill, help or a hoist for what is heavy. What the engine builder says
             of drilling, welding and torque comes first.

    In this order
      1. Print the template at 100 % and hold a rule to its line of 100 mm. `-o
         plan.pdf` and `-o plan.svg` have it.
      2. Measure 50 mm from the face of the flange along the middle of the runner;
         round a bend the inside is shorter and the outside longer.
      3. Put all bosses on the same side of their runners, square to them: on the
         outside of the bend before, away from a neighbour's runner, where a spanner
         goes (common practice, no source).
      4. Before drilling look for water jackets, studs and what lies behind. Centre
         punch, small drill first, deburr inside.
      5. Mark each stem at its length from the tip, with a pen that stands heat or a
         light scratch. Push it in until the mark is flush with the top of the
         fitting, tighten, look again.
      6. Measure every depth once more from the inner wall where you can see it, and
         write it down: `oddpot fit JOB --depths ...` keeps it with the engine.
      7. Write the expected offsets on the sheet as well: they are there when all is
         healthy.

    Heat and movement
      - A boss is typically 302 °F at warm idle, 662 °F at steady cruise and 1022 °F
        at full load (assumed, nobody measured yours). Heads and seals of probes
        stand far less: look up what yours stand, and leave sheath between boss and
        head.
      - From cold to full load a boss moves up to 1.4 mm away from the flange
        (stainless steel, 17 millionths per °C, from memory). Alike at all runners
        it costs nothing; a stay between runner and head breaks.
      - Leads: 200 mm over the way to the box for a loop at the probe and the
        engine's rocking (common practice, no source). Tie the lead to what moves
        with the engine before it crosses to what does not.
      - Sheath left outside the fitting: 38 mm at least.

    What it rests on
      - Depth: to the middle of the narrowest runner. There a millimetre is worth
        least of all depths that do not pass it (stem model).
      - Clear of bends: two bores after a bend of 90°, half a bore before one, less
        after a lesser one; 25 mm from the flange for the spanner (common practice,
        no source).
      - Tolerances: errors even over the tolerance, the worst running point, slopes
        three quarters of a standard deviation steeper than expected.
      - Off when healthy: stem model at the own place less at the common one. ± is
        one standard deviation of what nobody measured: gas, flow, wall, sheath,
        depth, cooling.
      - Gas cooling along the pipe: Depcik and Assanis 2002 (SAE 2002-01-0372), Nu =
        0.07 Re^0.75, taken to be right to a factor of 1.5. Right behind the port it
        is steeper (common practice, no figure).
      - Tried on 10000 invented engines with 3 such displays (seed 1), their gas,
        flow, walls and probes drawn as well: 99 of 100 kept within 11 °F, 95 of 100
        within 6.9 °F.
      - Not in it: pulses of neighbours in a log or a collector, leaks, wraps,
        unlike ports.

      Doubt: gas, flow and wall are typical values, nobody measured yours:
             differences and signs are to be trusted, levels are not.
    ");
}
