//! look
use crate::cases::Sketch;
#[test]
fn look() {
    for (t, s) in [(35.0, "cattle-slurry"), (25.0, "cattle-slurry"), (35.0, "cattle-dung"), (18.0, "cattle-slurry")] {
    let case = Sketch { liquid_l: 800.0, temperature_c: t, days: 200, starter: vec![(s, 400.0)], starter_water_l: 400.0, feed: vec![("kitchen-scraps", 5.0)], feed_water_l: 10.0, first_feed_day: 30 }.case();
    let now = std::time::Instant::now();
    let o = match marshgas::simulate::run(&case, &mut |_| {}) { Ok(o) => o, Err(e) => { println!("{t} {s}: {e}"); continue } };
    println!("{t} {s} {:?} {:?}", now.elapsed(), o.solver);
    for e in &o.events { println!("{e:?}"); }
    for r in o.plant.iter().filter(|r| r.day < 12 || r.day % 15 == 0) {
        println!("d{:3} T{:.0} gas {:.0} ch4% {:.3} co2 {:.3} air {:.3} h2s {:.0} h2 {:.0} pH {:.2} ac {:.0} pro {:.0} bu {:.0} alk {:.0} ratio {:.2} TAN {:.0} NH3 {:.0} olr {:.2} hrt {:?} yld {:.0} sour {}", r.day, r.temperature_c, r.gas_nl, r.ch4_share, r.co2_share, r.air_share, r.h2s_ppm, r.h2_ppm, r.ph, r.acetic_mg_l, r.propionic_mg_l, r.butyric_mg_l, r.alkalinity_mg_l, r.acid_ratio, r.ammonium_mg_l, r.free_ammonia_mg_l, r.loading_kg_vs_m3_d, r.retention_d, r.yield_nl_kg_vs, r.sour);
    }
    for c in &o.closures { println!("{c:?}"); }
    println!("{:?}", o.fate);
    }
}
