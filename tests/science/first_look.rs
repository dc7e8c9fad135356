//! look
use crate::cases::Sketch;
use marshgas::simulate::EventKind;
#[test]
fn look() {
    for s in [
        "cattle-slurry",
        "cattle-dung",
        "horse-manure-straw",
        "hen-droppings",
        "digestate-food",
    ] {
        print!("{s:12} ");
        for (t, kg) in [
            (12.0, 400.0),
            (20.0, 400.0),
            (25.0, 400.0),
            (30.0, 400.0),
            (35.0, 400.0),
            (30.0, 200.0),
        ] {
            let case = Sketch {
                liquid_l: 800.0,
                temperature_c: t,
                days: 150,
                starter: vec![(s, kg)],
                starter_water_l: 800.0 - kg,
                feed: vec![],
                feed_water_l: 10.0,
                first_feed_day: 30,
            }
            .case();
            let o = match marshgas::simulate::run(&case, &mut |_| {}) {
                Ok(o) => o,
                Err(e) => {
                    println!("{t} {s}: {e}");
                    continue;
                }
            };
            let minph = o.plant.iter().fold(9.0, |m: f64, r| m.min(r.ph));
            let ev = |k| {
                o.events
                    .iter()
                    .find(|e| e.kind == k)
                    .map_or(-1.0, |e| e.day)
            };
            print!(
                "  {t:.0}/{kg:.0} fl {:.0} st {:.0} sr {:.0} min {minph:.2} g60 {:.0}",
                ev(EventKind::FirstFlame),
                ev(EventKind::BurnsSteadily),
                ev(EventKind::TurnsSour),
                o.plant[60].gas_nl
            );
        }
        println!();
    }
    for (olr, t) in [
        (2.0f64, 35.0),
        (4.0, 35.0),
        (8.0, 35.0),
        (12.0, 35.0),
        (2.0, 20.0),
        (4.0, 20.0),
        (6.0, 20.0),
    ] {
        // kitchen scraps, fixed recipe 1:1, HRT follows
        let kg = olr * 0.8 / 0.2232;
        let case = Sketch {
            liquid_l: 800.0,
            temperature_c: t,
            days: 250,
            starter: vec![("digestate-cattle", 600.0)],
            starter_water_l: 200.0,
            feed: vec![("kitchen-scraps", kg)],
            feed_water_l: kg,
            first_feed_day: 5,
        }
        .case();
        let o = match marshgas::simulate::run(&case, &mut |_| {}) {
            Ok(o) => o,
            Err(e) => {
                println!("{e}");
                continue;
            }
        };
        let r = &o.plant[240];
        println!(
            "OLR {olr} T {t} hrt {:?} gas {:.0} ch4 {:.3} pH {:.2} acids {:.0} ratio {:.2} TAN {:.0} sour {}",
            r.retention_d,
            r.gas_nl,
            r.ch4_share,
            r.ph,
            r.acids_mg_l,
            r.acid_ratio,
            r.ammonium_mg_l,
            r.sour
        );
    }
}
