use oddpot::engine::*;
use oddpot::job::entry::*;
use oddpot::knowledge::*;
use oddpot::units::*;
use oddpot::*;
fn main() {
    let t0 = std::time::Instant::now();
    let (k, findings) = load(oddpot::knowledge::embedded::embedded(), &[]);
    for f in &findings {
        eprintln!("{} {}", f.code, f.message);
    }
    let k = k.expect("loads");
    eprintln!("load {:?}", t0.elapsed());
    let args: Vec<String> = std::env::args().skip(1).collect();
    let preset = k.presets.iter().find(|p| p.id == args[0]).expect("preset");
    let recent: Vec<String> =
        args[1].split(',').filter(|s| !s.is_empty()).map(str::to_owned).collect();
    let mut journal = Journal {
        format: 1,
        head: Head {
            opened: "2026-01-01T00:00:00Z".parse().unwrap(),
            typed: String::new(),
            vehicle: String::new(),
            complaint: String::new(),
            engine_name: String::new(),
            engine: preset.engine.clone(),
            recent,
            state: EngineState::Warm,
        },
        entries: vec![],
    };
    let mut push = |what| {
        journal.entries.push(Entry {
            time: "2026-01-01T00:00:00Z".parse().unwrap(),
            typed: String::new(),
            what,
        })
    };
    for a in &args[2..] {
        let w: Vec<&str> = a.split_whitespace().collect();
        match w[0] {
            "temps" => push(What::Temps {
                at: w[1].parse().unwrap(),
                site: ProbeSite::Exhaust,
                readings: w[2..]
                    .iter()
                    .map(|v| match *v {
                        "open" => Reading::Open,
                        "stuck" => Reading::Stuck,
                        "falling" => Reading::Falling,
                        v => Reading::Degrees(Celsius::new(v.parse().unwrap()).unwrap()),
                    })
                    .collect(),
            }),
            "head" => push(What::Temps {
                at: w[1].parse().unwrap(),
                site: ProbeSite::Head,
                readings: w[2..]
                    .iter()
                    .map(|v| Reading::Degrees(Celsius::new(v.parse().unwrap()).unwrap()))
                    .collect(),
            }),
            "exchange" => push(What::Exchange {
                item: w[1].parse().unwrap(),
                a: w[2].parse().unwrap(),
                b: w[3].parse().unwrap(),
            }),
            "found" => push(What::Found {
                test: w[1].into(),
                outcome: w[2].into(),
                cylinder: w.get(3).map(|c| c.parse().unwrap()),
                partner: w.get(4).map(|c| c.parse().unwrap()),
            }),
            "remedy" => push(What::Remedy {
                cause: w[1].into(),
                place: Place::Cylinder(w[2].parse().unwrap()),
            }),
            _ => panic!(),
        }
    }
    let timeline = job::read::read(&k, &journal);
    let t1 = std::time::Instant::now();
    let d = diagnosis::diagnose(&k, &timeline);
    let t2 = std::time::Instant::now();
    let a = plan::advise(&d);
    let t3 = std::time::Instant::now();
    eprintln!("diagnose {:?} advise {:?} hyps {}", t2 - t1, t3 - t2, d.assessment.hypotheses.len());
    println!(
        "{}",
        report::text::render(
            &report::suspects(&k, &timeline, &d.assessment, Scale::Celsius),
            100,
            report::Style::Plain
        )
    );
    println!(
        "{}",
        report::text::render(
            &report::next(&k, &timeline, &d.assessment, &a, "job", Scale::Celsius),
            100,
            report::Style::Plain
        )
    );
    println!("dropped {:.2e}  LB {:.1}", d.assessment.pairs_dropped_mass, a.lower_bound);
    let v = diagnosis::verify(&k, &timeline, &d.assessment);
    println!("{v:?}");
}
