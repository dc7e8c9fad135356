//! look
#[test]
fn look() {
    for f in std::fs::read_dir("scenarios").unwrap().filter(|f| {
        f.as_ref()
            .unwrap()
            .path()
            .to_string_lossy()
            .contains("overfeed")
    }) {
        let p = f.unwrap().path();
        let l = match marshgas::scenario::load(&p) {
            Ok(l) => l,
            Err(e) => {
                println!("SCN {e}");
                continue;
            }
        };
        for w in &l.warnings {
            println!("SCN warn {w:?}");
        }
        let now = std::time::Instant::now();
        let o = match marshgas::simulate::run(&l.case, &mut |_| {}) {
            Ok(o) => o,
            Err(e) => {
                println!("SCN {p:?}: {e}");
                continue;
            }
        };
        println!(
            "SCN {p:?} {:?} acc {} rej {} rhs {}",
            now.elapsed(),
            o.solver.accepted,
            o.solver.rejected,
            o.solver.rhs
        );
        println!(
            "SCN   {:?}",
            o.events.iter().map(|e| (e.kind, e.day)).collect::<Vec<_>>()
        );
        for r in o.plant.iter().filter(|r| {
            r.day % (o.days / 12).max(1) == 0
                || (90..120).contains(&r.day) && r.day % 3 == 0 && o.days == 200
        }) {
            println!(
                "SCN   d{:3} T{:.0} gas {:.0} ch4 {:.2} air {:.2} h2s {:.0} h2 {:.0} pH {:.2} acids {:.0} alk {:.0} ratio {:.2} TAN {:.0} olr {:.2} sour {} burns {}",
                r.day,
                r.temperature_c,
                r.gas_nl,
                r.ch4_share,
                r.air_share,
                r.h2s_ppm,
                r.h2_ppm,
                r.ph,
                r.acids_mg_l,
                r.alkalinity_mg_l,
                r.acid_ratio,
                r.ammonium_mg_l,
                r.loading_kg_vs_m3_d,
                r.sour,
                r.burns
            );
        }
    }
}
