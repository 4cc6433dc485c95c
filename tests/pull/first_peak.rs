//! The proof.

use leverarm_metrology::quantity::Torque;
use leverarm_pull::detector::{Detector, Event, Mode, Settings};
use leverarm_pull::trace::Sample;

use crate::dice::Dice;
use crate::truth::{Plan, Pull};

fn detect(pull: &Pull, dice: &mut Dice) -> leverarm_pull::detector::Pull {
    let plan = &pull.plan;
    let mut settings = Settings::new(Mode::FirstPeak, Torque::from_newton_metres(plan.target), plan.rate_hz);
    settings.mains_hz = Some(plan.mains_hz);
    let mut detector = Detector::new(settings).unwrap();
    let mut events = Vec::new();
    for (time_s, x) in pull.samples(dice) {
        detector.push(Sample { time_s, torque: Torque::from_newton_metres(x) }, &mut events);
    }
    detector.finish(&mut events);
    let mut pulls = events.into_iter().filter_map(|e| match e {
        Event::Done(p) => Some(*p),
        _ => None,
    });
    let first = pulls.next().unwrap();
    assert!(pulls.next().is_none());
    first
}

#[test]
fn explore() {
    use std::io::Write;
    let mut out = std::io::BufWriter::new(
        std::fs::File::create(std::env::var("OUT").unwrap_or("/tmp/pulls.csv".into())).unwrap(),
    );
    writeln!(out, "seed,rate,drop,load,noise,hum,mains,step,tremor,wobble,fn,zeta,dwell,over,truth,found,err,terr,sn,adv,dropf,again,jerky,errpk").unwrap();
    for seed in 0..10_000_u64 {
        let mut dice = Dice::new(seed);
        let pull = Pull::of(Plan::draw(&mut dice, true));
        let p = detect(&pull, &mut dice);
        let pl = &pull.plan;
        let r = pl.release.unwrap();
        let pc = 100.0 / pull.first_peak;
        let c = p.click;
        let got = |f: &dyn Fn(leverarm_pull::detector::Click) -> f64| c.map_or(f64::NAN, |c| f(c));
        writeln!(out, "{seed},{:.1},{:.4},{:.3},{:.5},{:.5},{},{:.5},{:.5},{:.5},{:.1},{:.2},{:.4},{:.3},{:.5},{},{:.5},{:.5},{:.5},{:.5},{:.4},{},{},{}",
            pl.rate_hz, r.drop*100.0, pl.loading_s, pl.noise*pc, pl.hum.0*pc, pl.mains_hz, pl.step*pc, pl.tremor.0*100.0, pl.wobble.0*100.0, r.natural_hz, r.damping, r.dwell_s, r.over_pull.unwrap_or(0.0),
            pull.first_peak, c.is_some() as u8,
            got(&|c| (c.peak.torque.newton_metres()-pl.zero-pull.first_peak)*pc), got(&|c| (c.peak.time_s-pull.click_s)*1e3), got(&|c| c.standard_noise.newton_metres()*pc), got(&|c| c.advance.newton_metres()*pc), got(&|c| c.drop.newton_metres()*pc),
            p.flaws.iter().any(|f| matches!(f, leverarm_pull::detector::Flaw::DoubleClick{..})) as u8,
            p.flaws.iter().any(|f| matches!(f, leverarm_pull::detector::Flaw::Jerky{..})) as u8, 0).unwrap();
    }
    if std::env::var("ONLY").is_ok() {
        return;
    }
    let mut bad = 0;
    for seed in 0..10_000_u64 {
        let mut dice = Dice::new(1_000_000 + seed);
        let pull = Pull::of(Plan::draw(&mut dice, false));
        let p = detect(&pull, &mut dice);
        if let Some(c) = p.click {
            bad += 1;
            if bad < 40 {
                let q = &pull.plan;
                println!(
                    "false {seed} rate {:.0} trem {:.3}% {:.1}Hz wob {:.3}% {:.1} noise {:.3}% hum {:.3}% step {:.3}% load {:.2} letgo {:?} {:.3}s at {:.3} before letgo, peak {:.2}% drop {:.2}%",
                    q.rate_hz,
                    q.tremor.0 * 100.,
                    q.tremor.1,
                    q.wobble.0 * 100.,
                    q.wobble.1,
                    q.noise / q.target * 100.,
                    q.hum.0 / q.target * 100.,
                    q.step / q.target * 100.,
                    q.loading_s,
                    q.let_go,
                    q.let_go_s,
                    pull.let_go_s_() - c.peak.time_s,
                    c.peak.torque.newton_metres() / q.target * 100.,
                    c.drop.newton_metres() / q.target * 100.
                );
            }
        }
    }
    println!("false {bad}");
}
