//! How displays of a log behave beside their mates, in sentences.

use measure::readings::log::{Follow, Manner, Noise, Rise};
use measure::units::{Scale, TempDelta};

use super::doc::Doc;

/// Adds a heading and a line for each thing that is odd.
pub(super) fn manner(doc: &mut Doc, manner: &Manner, scale: Scale) {
    let mut items = Vec::new();
    for (number, _) in (1..).zip(&manner.stuck).filter(|(_, stuck)| **stuck) {
        items.push(format!("Display {number} never moved while the others did."));
    }
    if let Some(start) = &manner.start {
        let tell = |rise: Rise| match rise {
            Rise::Rises | Rise::Unseen => None,
            Rise::Flat => Some("did not rise"),
            Rise::Falls => Some("went down while the others went up"),
            Rise::Late => Some("rose late"),
            Rise::DropsOut => Some("rose and dropped out"),
        };
        let odd: Vec<String> = (1..)
            .zip(&start.each)
            .filter_map(|(n, &rise)| tell(rise).map(|what| format!("display {n} {what}")))
            .collect();
        let what = if odd.is_empty() { "all rose together".to_owned() } else { odd.join("; ") };
        items.push(format!("In the first two minutes from cold {what}."));
    }
    if let Some(step) = &manner.step {
        let tell = |follow: Follow| match follow {
            Follow::Together(_) | Follow::Unclear => None,
            Follow::Slower(ratio) => Some(format!("took {ratio:.1} times as long as the others")),
            Follow::Faster(ratio) => Some(format!("took {ratio:.2} of the others' time")),
            Follow::Still => Some("did not move".to_owned()),
        };
        let odd: Vec<String> = (1..)
            .zip(&step.each)
            .filter_map(|(n, &follow)| tell(follow).map(|what| format!("display {n} {what}")))
            .collect();
        let what = if odd.is_empty() { "all followed together".to_owned() } else { odd.join("; ") };
        items.push(format!("At the step to a higher speed, {:.0} s, {what}.", step.from));
    }
    if let Some(noise) = &manner.noise {
        let (low, high) = noise.speeds;
        for (number, &(what, slow, fast)) in (1..).zip(&noise.each) {
            let tells = match what {
                Noise::WithSpeed => "scatters more with speed",
                Noise::AllSpeeds => "scatters more than the others at every speed",
                Noise::LikeOthers | Noise::Unseen => continue,
            };
            items.push(format!(
                "Display {number} {tells}: {} at {low:.0}, {} at {high:.0}.",
                plain_difference(slow, scale),
                plain_difference(fast, scale)
            ));
        }
    }
    if let Some((times, each)) = &manner.switched {
        for (number, (step, _)) in (1..).zip(each).filter(|(_, (_, counts))| *counts) {
            items.push(format!(
                "Display {number} stepped by {} at {times} switchings of electric loads.",
                plain_difference(step.abs(), scale)
            ));
        }
    }
    if !items.is_empty() {
        doc.heading("How displays behave");
        doc.bullets(items);
    }
}

fn plain_difference(kelvin: f64, scale: Scale) -> String {
    format!("{:.1} {}", scale.show_delta(TempDelta(kelvin)), scale.sign())
}
