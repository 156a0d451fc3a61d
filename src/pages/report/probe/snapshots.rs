//! Every page as it is printed, whole.

use insta::assert_snapshot;

use super::{
    ApartInput, Converted, DepthInput, DepthScatter, ExplainInput, ShowsInput, apart, cable,
    degrees, depth, every_cable, every_fault, explain, meanings, millivolts, one_fault,
};
use crate::report::{Doc, Style, markdown, text};
use measure::engine::Regime;
use measure::probe::Fitting;
use measure::probe::outlook::{Change, outlook};
use measure::thermocouple::Standard;
use measure::thermocouple::circuit::{Display, Temperatures};
use measure::thermocouple::colour::Colour;
use measure::thermocouple::explain::{self as explaining, Observation};
use measure::thermocouple::tolerance::{Class, allowed};
use measure::thermocouple::wiring::{Sizes, Wiring, shown};
use measure::units::Scale;

fn plain(doc: &Doc) -> String {
    text::render(doc, 80, Style::Plain)
}

fn at() -> Vec<Temperatures> {
    let at = |tip, joint| Temperatures { tip, joint, terminals: 25.0 };
    vec![at(25.0, 25.0), at(400.0, 60.0), at(860.0, 60.0)]
}

fn faults(fault: Option<Wiring>, scale: Scale) -> Doc {
    let (at, sizes) = (at(), Sizes::default());
    let list = fault.map_or(Wiring::ALL.to_vec(), |fault| vec![fault]);
    let rows = shown(&list, Standard::K, &[Standard::N, Standard::J], &sizes, &at);
    let rows = rows.expect("in range");
    let input = ShowsInput { meant: Standard::K, at: &at, sizes: &sizes, shown: &rows };
    match fault {
        Some(fault) => one_fault(input, fault, scale),
        None => every_fault(input, scale),
    }
}

/// True, shown, box; the joint is not known.
fn explained(seen: &[(f64, f64, f64)]) -> Doc {
    let seen: Vec<Observation> = seen
        .iter()
        .map(|&(tip, shows, terminals)| Observation {
            tip,
            display: Display::Shows(shows),
            terminals,
            joint: None,
        })
        .collect();
    let (probe, channel, sd) = (Standard::K, Standard::K, 4.0);
    let mut ranked = explaining::explain(probe, channel, &seen, sd).expect("in range");
    ranked.retain(|one| !one.fault.is_of_platinum());
    explain(ExplainInput { probe, channel, seen: &seen, sd, ranked: &ranked }, Scale::Celsius)
}

fn pair(depth: Option<DepthScatter>, scale: Scale) -> Doc {
    let all = allowed(Standard::K, 850.0);
    let input =
        ApartInput { standard: Standard::K, at: 850.0, allowed: &all, asked: Class::Two, depth };
    apart(input, scale)
}

fn fitted(bore: f64, deep: f64, scale: Scale) -> Doc {
    let mates = Fitting { diameter: 3.0, bore, depth: deep };
    let changes = [Change::Deeper(5.0), Change::Diameter(1.5), Change::TouchesFirmly];
    let points = outlook(mates, [None, Some(600.0), None], &changes).expect("within reach");
    depth(DepthInput { mates, outlook: &points, changes: &changes }, scale)
}

#[test]
fn all_faults() {
    assert_snapshot!(plain(&faults(None, Scale::Celsius)), @r#"
    What wiring faults show, type K, °C
    ===================================
    The tip truly at the temperature over each column; the box at 25 °C, the joint
    of probe and lead at 60 °C. Soaked: everything at the temperature of the box.

    what is wrong                          soaked    400    860
    -------------------------------------  ------  -----  -----
    nothing wrong                              25    400    860
    legs swapped at the box                    25  under  under
    legs swapped at the joint                  25  under  under
    legs swapped at both ends of the lead      25    332    790
    plain copper in the lead                   25    366    825
    lead of type N                             25    389    848
    lead of type J                             25    410    870
    box set to type N                          25    482    977
    box set to type J                          25    306    649
    probe of type N                            25    338    760
    probe of type J                            25    512   1196
    box misjudges its own heat                 35    410    870
    insulation leaks                           25    367    783
    bad joint under test current               49    424    885
    legs touch in the probe                    25    230    460
    legs touch in the lead                     25     43     43
    a leg is broken                          open   open   open

    Under, over: beyond the type's table, where a box shows a flag, a floor or
    nonsense. -: no wire of that type bears it. Sizes taken: box misjudges its own
    heat: believes itself 10 °C too hot; insulation leaks: 100 Ω across a loop of 10
    Ω; bad joint under test current: 1.0 µA through 1000 Ω; legs touch in the probe:
    half-way in temperature.

    `oddpot probe shows FAULT` tells how one gives itself away and what proves it:
    sound, reversed-at-box, reversed-at-joint, reversed-both-ends, copper-lead,
    wrong-lead, wrong-setting, wrong-probe, cold-junction, leak, bias,
    short-in-probe, short-in-lead, open.
    "#);
}

#[test]
fn one_fault_of_the_lead() {
    assert_snapshot!(plain(&faults(Some(Wiring::ReversedBothEnds), Scale::Celsius)), @r#"
    Legs swapped at both ends of the lead: what a type K chain shows
    ================================================================
    Gives itself away: Perfect at cold soak; then low by twice what the joint is
                       hotter than the box (high if the box is the hotter), at idle
                       as at full load. It follows heat under the bonnet, not in the
                       exhaust.
    Proof:             Warm the joint alone: the number falls. Then compare colours
                       and legs at both ends of the lead.

    Displays, °C
      tip truly  joint  box  shows  off by
      ---------  -----  ---  -----  ------
             25     25   25     25       0
            400     60   25    332     -68
            860     60   25    790     -70

      Doubt: Agreement at cold soak does not clear this fault.
    "#);
}

#[test]
fn one_fault_of_types_in_fahrenheit() {
    assert_snapshot!(plain(&faults(Some(Wiring::WrongSetting), Scale::Fahrenheit)), @r#"
    Box set to another type: what a type K chain shows
    ==================================================
    Gives itself away: Right at the temperature of the box, so cold soak cannot show
                       it; further off the hotter the tip.
    Proof:             Put the tip in boiling water, then read the type the channel
                       is set to.

    Displays, °F
      type  tip truly  joint  box  shows  off by
      ----  ---------  -----  ---  -----  ------
      N            77     77   77     77       0
                  752    140   77    899    +147
                 1580    140   77   1791    +211
      J            77     77   77     77       0
                  752    140   77    583    -169
                 1580    140   77   1200    -380

      Doubt: Agreement at cold soak does not clear this fault.
    "#);
}

#[test]
fn one_fault_beyond_the_table() {
    assert_snapshot!(plain(&faults(Some(Wiring::ReversedAtBox), Scale::Celsius)), @r#"
    Legs swapped at the box: what a type K chain shows
    ==================================================
    Gives itself away: Perfect while everything is at one temperature; falls as the
                       tip warms, and is out of range long before idle.
    Proof:             Warm the tip in the hand: the number must rise. If it falls,
                       swap the two legs at the box and try again.

    Displays, °C
      tip truly  joint  box  shows  off by
      ---------  -----  ---  -----  ------
             25     25   25     25       0
            400     60   25  under
            860     60   25  under

      Under, over: beyond the type's table, where a box shows a flag, a floor or
      nonsense. -: no wire of that type bears it.

      Doubt: Agreement at cold soak does not clear this fault.
    "#);
}

#[test]
fn a_wrong_setting_is_told() {
    assert_snapshot!(plain(&explained(&[(18.0, 18.0, 18.0), (100.0, 83.5, 25.0), (700.0, 536.0, 25.0)])), @r#"
    Which wiring fault explains these displays
    ==========================================
    One explains them best: box set to type J.

    What fits, best first, °C
      what is wrong            at 18  at 100  at 700  worst miss  with
      -----------------------  -----  ------  ------  ----------  ------------------
      seen                        18      84     536
      box set to type J           18      83     536         0.2
      legs touch in the probe     18      82     536         1.7  76 % of tip's heat
      insulation leaks            18      82     536         1.9  25 % lost

      Fits: within three times 4.0 °C of every display, the error a sound chain may
      have.

    What proves it
      1. Box set to another type: Put the tip in boiling water, then read the type
         the channel is set to.
    "#);
}

#[test]
fn faults_alike_by_nature() {
    assert_snapshot!(plain(&explained(&[(400.0, 366.0, 25.0), (700.0, 666.0, 25.0)])), @r#"
    Which wiring fault explains these displays
    ==========================================
    They are explained alike by 5 faults, such as legs swapped at both ends of the
    lead, plain copper in the lead, lead of type N.

    What fits, best first, °C
      what is wrong                at 400  at 700  worst miss  with
      ---------------------------  ------  ------  ----------  ---------------------
      seen                            366     666
      legs swapped at both ends       366     666         0.0  joint 18 °C over box
      of the lead
      plain copper in the lead        366     666         0.0  joint 35 °C over box
      lead of type N                  366     666         0.0  joint 118 °C over box
      box misjudges its own heat      366     666         0.0  36 °C too cold
      bad joint under test            366     666         0.0  -1.4 mV stray
      current
      legs touch in the probe         378     660          12  94 % of tip's heat
      insulation leaks                378     659          12  6 % lost

      Fits: within three times 4.0 °C of every display, the error a sound chain may
      have.

    What proves it
      1. Legs swapped at both ends of the lead: Warm the joint alone: the number
         falls. Then compare colours and legs at both ends of the lead.
      2. Plain copper in the lead: Warm the joint alone: the number falls by as
         much. Follow the lead for a splice in ordinary wire.
      3. Lead of another type: Warm the joint alone: a right lead does not care.
         Read the sheath's colour, try a magnet on the bare legs.
      4. Box misjudges its own heat: Link the two terminals with a bit of wire: it
         must show the heat of the terminals. Hold a thermometer there.

    To tell them apart
      Measure the joint of probe and lead, and say `--joint T`; or add a cold-soak
      display (`--cold T=SHOWN`): faults of the lead vanish there, those of the box
      stay.
    "#);
}

#[test]
fn nothing_wrong_but_all_of_it_cold() {
    assert_snapshot!(plain(&explained(&[(20.0, 21.0, 20.0)])), @r#"
    Which wiring fault explains these displays
    ==========================================
    These displays need no fault: a sound chain shows them. But all of it is near
    the temperature of the box, where half of the wiring faults show nothing: read
    it in boiling water too.

    What fits, best first, °C
      what is wrong  at 20  worst miss  with
      -------------  -----  ----------  ----
      seen              21
      nothing wrong     20         1.0

      Fits: within three times 4.0 °C of every display, the error a sound chain may
      have. So do faults too small to see here.
    "#);
}

#[test]
fn nothing_explains_it() {
    assert_snapshot!(plain(&explained(&[(100.0, 300.0, 25.0), (400.0, 12.0, 25.0)])), @r#"
    Which wiring fault explains these displays
    ==========================================
    No single wiring fault explains all of these. Check the true temperatures, or
    look for two faults.

    Nearest, but none fits, °C
      what is wrong            at 100  at 400  worst miss  with
      -----------------------  ------  ------  ----------  ---------------------
      seen                        300      12
      legs touch in the lead      156     156         144  touch 131 °C over box
      insulation leaks             33      67         267  89 % lost
      legs touch in the probe      33      65         267  11 % of tip's heat

      Fits: within three times 4.0 °C of every display, the error a sound chain may
      have.
    "#);
}

#[test]
fn one_display_is_not_enough() {
    let page = plain(&explained(&[(400.0, 329.0, 25.0)]));
    assert!(page.contains("Doubt: one display bends to any fault with a size."), "{page}");
}

#[test]
fn two_good_probes() {
    assert_snapshot!(plain(&pair(None, Scale::Celsius)), @r#"
    Two good type K probes at 850 °C
    ================================
    Up to 18 °C between two of IEC class 2, leads counted in, and both are good.

    By class, °C
      class          each      lead  apart, at most  rarely over
      -------------  ----  --------  --------------  -----------
      IEC class 1    ±3.4      ±1.5             9.8          5.3
      IEC class 2    ±6.4      ±2.5              18          9.7
      ASTM standard  ±6.4  no table              13          9.0
      ASTM special   ±3.4  no table             6.8          4.8

      - New wire only: the standards promise nothing of drift, and used type K
        drifts.
      - Rarely over: one pair of twenty lies further apart, if one probe of twenty
        lies outside its class. That is an assumption; the standards do not say.
      - Unequal depths come on top and are often more: give `--bore` and `--depth`.
    "#);
}

#[test]
fn two_good_probes_at_unequal_depths() {
    let scatter = DepthScatter { point: Regime::Full, mm: 2.0, sd: 6.0 };
    assert_snapshot!(plain(&pair(Some(scatter), Scale::Fahrenheit)), @r#"
    Two good type K probes at 1562 °F
    =================================
    Up to 32 °F between two of IEC class 2, leads counted in, and both are good.
    With depths that scatter by 2 mm it is rarely more than 35 °F at full load.

    By class, °F
      class          each      lead  apart, at most  rarely over  with depth
      -------------  ----  --------  --------------  -----------  ----------
      IEC class 1    ±6.1      ±2.7              18          9.5          32
      IEC class 2     ±11      ±4.5              32           17          35
      ASTM standard   ±11  no table              23           16          35
      ASTM special   ±6.1  no table              12          8.7          32

      - New wire only: the standards promise nothing of drift, and used type K
        drifts.
      - Rarely over: one pair of twenty lies further apart, if one probe of twenty
        lies outside its class. That is an assumption; the standards do not say.
      - Depth: 2 mm of scatter is 11 °F on one display at full load (one standard
        deviation). Gas, flow and wall are typical values, nobody measured yours:
        differences and signs are to be trusted, levels are not.
    "#);
}

#[test]
fn a_fitting() {
    assert_snapshot!(plain(&fitted(41.0, 15.0, Scale::Celsius)), @r#"
    A 3 mm probe 15 mm into a 41 mm runner, °C
    ==========================================
    A millimetre deeper is worth +7.9 °C at warm idle, +7.4 °C at steady cruise and
    +5.3 °C at full load. Five by mistake, and a healthy cylinder looks odd, or an
    odd one healthy.

                     warm idle  steady cruise   full load
    --------------  ----------  -------------  ----------
    shows                 256?            600        787?
    each mm deeper  +7.9 ± 1.9     +7.4 ± 2.4  +5.3 ± 2.1
    63 % of a step        26 s            9 s         5 s
    99 % of a step       2 min           42 s        22 s

    What one would show otherwise than the others
      one probe                    warm idle  steady cruise  full load
      ---------------------------  ---------  -------------  ---------
      5 mm deeper                  +35 ± 9.3       +29 ± 10  +19 ± 8.1
      1.5 mm thick                  +56 ± 12       +48 ± 11  +32 ± 8.4
      tip pressed on the far wall   -55 ± 23       -82 ± 26   -82 ± 23

      - ?: of a typical petrol engine. Give your healthy displays with `--idle`,
        `--cruise`, `--full` and the rest follows them.
      - ±: one standard deviation over what is not known: gas, flow, wall, the
        sheath's make, depth to 2 mm and, for a difference, the ruler to 0.5 mm.
      - Depth counts from the inner wall of the runner, not from the boss. Pipe and
        head take longer to settle than the probe.

      Doubt: gas, flow and wall are typical values, nobody measured yours:
             differences and signs are to be trusted, levels are not.
    "#);
}

#[test]
fn a_fitting_past_the_middle() {
    let page = plain(&fitted(41.0, 30.0, Scale::Fahrenheit));
    assert!(page.contains("past the middle"), "{page}");
    assert!(page.contains("runner, °F"), "{page}");
}

#[test]
fn cables() {
    assert_snapshot!(plain(&cable(Standard::J)), @r#"
    Extension cable of type J
    =========================
    type  code      sheath  positive  negative
    ----  --------  ------  --------  --------
    J     IEC       black   black     white
    J     American  black   white     red

    Traps
      - White is the negative leg of every type by IEC, but the positive leg of an
        American type J.
      - Black is the positive leg of type J by IEC, and of types R and S in the
        American code.
      - Red is the negative leg in the American code, and was the positive one in
        several superseded national codes: old cable may be either.

    Magnet
      Type J: a magnet draws the positive leg (iron) and leaves the negative alone.
    "#);
    assert_snapshot!(plain(&meanings(Colour::Blue)), @r#"
    A blue sheath
    =============
    May be type T (American).

    type  code        sheath  positive  negative
    ----  ----------  ------  --------  --------
    T     IEC *       brown   brown     white
    T     American *  blue    blue      red

    - A blue sheath is type T in the American code; by IEC blue marks an
      intrinsically safe circuit of any type.

    Magnet
      - Type T: a magnet draws neither leg.

      *: from memory, not seen in a published chart.

      Doubt: a colour is a hint. A magnet and a display in boiling water are proof.
    "#);
    assert_snapshot!(plain(&meanings(Colour::Red)), @r#"
    A red sheath
    ============
    No type has a red sheath in the codes known here. It may be a superseded
    national code, or no extension cable at all: go by magnet and boiling water.

    As a leg, red is negative by the American code; in several superseded national
    codes it was positive.
    "#);
    let all = plain(&every_cable());
    assert_eq!(all.matches("American").count(), 8 + 4, "{all}");
}

#[test]
fn conversions() {
    // NIST Monograph 175: type K gives 4.096 mV at 100 °C, 1.000 mV at 25 °C.
    let row = Converted { tip: 100.0, millivolts: 4.0962 - 1.0002, sensitivity: 0.0414 };
    assert_snapshot!(plain(&millivolts(Standard::K, 25.0, &[row], Scale::Celsius)), @r#"
    Millivolts of type K, terminals at 25 °C
    ========================================
       °C     mV  µV per °C
    -----  -----  ---------
    100.0  3.096       41.4
    "#);
    assert_snapshot!(plain(&degrees(Standard::K, 25.0, &[row], Scale::Fahrenheit)), @r#"
    Degrees of type K, terminals at 77 °F
    =====================================
       mV     °F  µV per °F
    -----  -----  ---------
    3.096  212.0       23.0
    "#);
}

#[test]
fn pages_are_markdown_too() {
    let page = markdown::render(&faults(Some(Wiring::CopperLead), Scale::Celsius));
    assert!(page.starts_with("# Plain copper in the lead"), "{page}");
    assert!(page.contains("| tip truly |"), "{page}");
}
