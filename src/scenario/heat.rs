//! A vessel's heat balance: shape, walls, ground, sun, feed, heater.

use super::address::Address;
use super::calendar::Calendar;
use super::check::Checker;
use super::limits::TEMPERATURE_C;
use super::limits_heat::{
    AREA_M2, BAND_K, DEPTH_CM, EFFICIENCY_PCT, FEED_C, FOAM_CM, POWER_W, SET_C, SHARE_PCT, SIZE_CM,
    SOIL_CONDUCTS, START_C, U_VALUE, WALL_MM,
};
use super::months::months;
use super::schema::{
    RawFoam, RawGreenhouse, RawHeat, RawHeatSource, RawHeater, RawMeets, RawShape, RawStandsOn,
    RawSunnyFace, RawSurface, RawWall,
};
use crate::case::{Heat, HeatSource, Surroundings, TemperatureCourse};
use crate::thermal::{
    Envelope, Face, Greenhouse, Heater, INSIDE_W_PER_M2_K, Lagging, Meets, Placement, Shape,
    Sunlit, Weather, faces, glazing_m2_k_per_w, layer_m2_k_per_w, material,
};

const CM_PER_M: f64 = 100.0;
const MM_PER_M: f64 = 1000.0;
const PERCENT: f64 = 100.0;
/// Wall of a drum or tote \[mm\]. Handbook value, from memory.
const WALL: f64 = 4.0;
/// Conductivity of moist soil \[W/m/K\]. Handbook value, from memory.
const SOIL: f64 = 1.0;
/// What a buried face passes to the soil \[W/m2/K\]: 1 to 1.5, between the dry and the wet earth of published sewage
/// digesters.
const CONTACT: f64 = 1.25;
/// Absorptance of black \[%\], transmittance of a pane or film \[%\]. Handbook values, from memory.
const BLACK_PCT: f64 = 90.0;
const PANE_PCT: f64 = 80.0;
/// Sun that a greenhouse's floor gives to the air \[%\]. Assumption of this project: dark ground takes four fifths
/// and keeps a quarter of it.
const FLOOR_PCT: f64 = 60.0;
/// U-value of one film \[W/m2/K\]: 6 to 7. Handbook value, from memory.
const FILM_U: f64 = 6.5;
/// Band of a thermostat \[K\]. Common practice, no source.
const BAND: f64 = 1.0;
/// Efficiency of a small boiler \[%\]: 70 to 85. Handbook value, from memory.
const BOILER_PCT: f64 = 80.0;
/// Most surfaces of one vessel.
const MOST_SURFACES: usize = 50;
/// A shape may hold so much more or less than liquid and gas space before a warning.
const VOLUME_SLACK: f64 = 0.3;

/// Checks the heat balance of a vessel that holds `volume_m3` of liquor and gas together.
pub(crate) fn check(
    checker: &mut Checker,
    at: &Address,
    raw: &RawHeat,
    weather: Option<&Weather>,
    calendar: &Calendar,
    volume_m3: f64,
) -> Option<Heat> {
    let start_c = checker.required(&at.key("start_c"), raw.start_c, &START_C);
    let wall_mm = checker.optional(&at.key("wall_mm"), raw.wall_mm, WALL, &WALL_MM);
    let cm = |checker: &mut Checker, key: &str, value, or| {
        checker.optional(&at.key(key), value, or, &FOAM_CM)
    };
    let all = cm(checker, "foam_cm", raw.foam_cm, 0.0);
    let top = cm(checker, "foam_top_cm", raw.foam_top_cm, all);
    let bottom = cm(checker, "foam_bottom_cm", raw.foam_bottom_cm, all);
    let foam = |cm: f64| layer_m2_k_per_w(cm / CM_PER_M, conducts(foam_name(raw.foam)));
    let lagging = Lagging {
        wall: layer_m2_k_per_w(wall_mm / MM_PER_M, conducts(wall_name(raw.wall))),
        sides: foam(all),
        top: foam(top),
        bottom: foam(bottom),
    };
    let placement = Placement {
        buried_m: checker.optional(&at.key("buried_cm"), raw.buried_cm, 0.0, &DEPTH_CM) / CM_PER_M,
        on_ground: raw.stands_on != Some(RawStandsOn::Air),
        soil_w_per_m_k: checker.optional(
            &at.key("soil_w_per_m_k"),
            raw.soil_w_per_m_k,
            SOIL,
            &SOIL_CONDUCTS,
        ),
        contact_w_per_m2_k: checker.optional(
            &at.key("soil_contact_w_per_m2_k"),
            raw.soil_contact_w_per_m2_k,
            CONTACT,
            &U_VALUE,
        ),
    };
    let sunlit = raw
        .sun
        .as_ref()
        .map(|sun| sunny(checker, &at.key("sun"), sun, all, &foam));
    idle_keys(checker, at, raw);
    let around = Around {
        at,
        lagging,
        placement,
        sunlit,
        foam_cm: all,
        foam: &foam,
        volume_m3,
    };
    let faces = shape(checker, &at.key("shape"), raw.shape.as_ref(), &around);
    let greenhouse = raw
        .greenhouse
        .as_ref()
        .map(|house| greenhouse(checker, &at.key("greenhouse"), house, &faces));
    let heater = raw
        .heater
        .as_ref()
        .map(|heater| self::heater(checker, &at.key("heater"), heater, calendar));
    let feed_c = raw
        .feed_c
        .map(|celsius| checker.number(&at.key("feed_c"), celsius, &FEED_C));
    let Some(weather) = weather else {
        checker.missing(
            &Address::default().key("climate"),
            "A heat balance needs the weather: \"climate\": { \"air\": { \"wave\": { ... } } }.",
        );
        return None;
    };
    Some(Heat {
        surroundings: Surroundings {
            weather: match upright(checker, at, raw, weather, calendar) {
                Some(weather) => weather,
                None => weather.clone(),
            },
            envelope: Envelope { faces, greenhouse },
            heater,
        },
        start_c,
        feed_c,
    })
}

/// The weather as an upright sunny face has it; `None` where there is none, and after a problem.
fn upright(
    checker: &mut Checker,
    at: &Address,
    raw: &RawHeat,
    weather: &Weather,
    calendar: &Calendar,
) -> Option<Weather> {
    raw.sun.as_ref().filter(|sun| sun.upright == Some(true))?;
    let at = at.key("sun").key("upright");
    if raw.greenhouse.is_some() {
        checker.wrong(
            &at,
            "A greenhouse takes the sun from above, and one vessel has one sun.",
            "Leave out \"upright\" or the greenhouse.",
        );
        return None;
    }
    let Some(latitude_deg) = weather.latitude_deg else {
        checker.wrong(
            &at,
            "How the sun stands to an upright face hangs on the latitude.",
            "Add \"latitude_deg\" to \"climate\", or leave out \"upright\".",
        );
        return None;
    };
    let Some(first) = calendar.day_of_year_at_start() else {
        calendar.need_start(checker, &at);
        return None;
    };
    // Neither is a number after a problem, which is told.
    let days = calendar.days().filter(|_| latitude_deg.is_finite())?;
    Some(weather.upright(latitude_deg, first, days))
}

fn conducts(id: &str) -> f64 {
    // Every name below stands in the table; a test looks.
    material(id).map_or(f64::NAN, |m| m.w_per_m_k)
}

fn foam_name(foam: Option<RawFoam>) -> &'static str {
    match foam.unwrap_or(RawFoam::Eps) {
        RawFoam::Eps => "eps",
        RawFoam::Xps => "xps",
        RawFoam::Pur => "pur",
        RawFoam::GlassWool => "glass-wool",
        RawFoam::Straw => "straw",
    }
}

fn wall_name(wall: Option<RawWall>) -> &'static str {
    match wall.unwrap_or(RawWall::Plastic) {
        RawWall::Plastic => "plastic",
        RawWall::Steel => "steel",
        RawWall::Concrete => "concrete",
    }
}

/// What a shape needs to become faces.
struct Around<'a> {
    at: &'a Address,
    lagging: Lagging,
    placement: Placement,
    sunlit: Option<(Sunlit, f64)>,
    foam_cm: f64,
    foam: &'a dyn Fn(f64) -> f64,
    volume_m3: f64,
}

fn shape(
    checker: &mut Checker,
    at: &Address,
    raw: Option<&RawShape>,
    around: &Around<'_>,
) -> Vec<Face> {
    let mut length = |at: Address, value| checker.required(&at, value, &SIZE_CM) / CM_PER_M;
    let (at, shape) = match raw {
        None => {
            checker.missing(
                at,
                "Choose one: \"drum\", \"tote\", \"bag\" or \"surfaces\".",
            );
            return Vec::new();
        }
        Some(RawShape::Surfaces(list)) => {
            return surfaces(checker, &at.key("surfaces"), list, around);
        }
        Some(RawShape::Drum(raw)) => {
            let at = at.key("drum");
            let shape = Shape::Drum {
                diameter_m: length(at.key("diameter_cm"), raw.diameter_cm),
                height_m: length(at.key("height_cm"), raw.height_cm),
            };
            (at, shape)
        }
        Some(RawShape::Tote(raw)) => {
            let at = at.key("tote");
            let shape = Shape::Tote {
                length_m: length(at.key("length_cm"), raw.length_cm),
                width_m: length(at.key("width_cm"), raw.width_cm),
                height_m: length(at.key("height_cm"), raw.height_cm),
            };
            (at, shape)
        }
        Some(RawShape::Bag(raw)) => {
            let at = at.key("bag");
            let shape = Shape::Bag {
                length_m: length(at.key("length_cm"), raw.length_cm),
                diameter_m: length(at.key("diameter_cm"), raw.diameter_cm),
            };
            (at, shape)
        }
    };
    let holds = shape.volume_m3();
    if (holds / around.volume_m3 - 1.0).abs() > VOLUME_SLACK {
        checker.warn(
            &at,
            format!(
                "This shape holds {:.0} L, but liquid and gas space are {:.0} L.",
                1000.0 * holds,
                1000.0 * around.volume_m3
            ),
            "Its surface then does not belong to the vessel that is computed.",
            "Correct the lengths, or liquid_l and headspace_l.",
        );
    }
    if let Some((sun, _)) = &around.sunlit {
        let bare = faces(&shape, &around.lagging, &around.placement, None);
        let in_air = bare.iter().filter(|f| f.meets == Meets::Air);
        let largest = in_air.map(|f| f.area_m2).fold(0.0, f64::max);
        if sun.area_m2 > largest {
            checker.outside(
                &around.at.key("sun").key("area_m2"),
                sun.area_m2,
                format!("up to {largest:.2} m2"),
                "The sunny face is cut out of the largest face in the air, and cannot be larger than that.",
                "Give what the sun sees of that face.",
            );
        }
    }
    faces(&shape, &around.lagging, &around.placement, around.sunlit)
}

fn surfaces(
    checker: &mut Checker,
    at: &Address,
    list: &[RawSurface],
    around: &Around<'_>,
) -> Vec<Face> {
    if list.is_empty() {
        checker.wrong(at, "There is no surface.", "List at least one.");
    }
    if !checker.is_short(at, list.len(), MOST_SURFACES) {
        return Vec::new();
    }
    let mut out: Vec<Face> = list
        .iter()
        .enumerate()
        .map(|(i, raw)| surface(checker, &at.index(i), raw, i, around))
        .collect();
    if let Some((sun, behind)) = around.sunlit {
        out.push(Face {
            name: "sunny face".to_owned(),
            area_m2: sun.area_m2,
            resistance: 1.0 / INSIDE_W_PER_M2_K + around.lagging.wall + behind,
            meets: Meets::Air,
            sunlit: Some(sun),
        });
    }
    out
}

fn surface(
    checker: &mut Checker,
    at: &Address,
    raw: &RawSurface,
    place: usize,
    around: &Around<'_>,
) -> Face {
    let name = match &raw.name {
        Some(name) => checker.name(&at.key("name"), Some(name)),
        None => format!("surface {}", place + 1),
    };
    let area_m2 = checker.required(&at.key("area_m2"), raw.area_m2, &AREA_M2);
    let in_ground = raw.meets == Some(RawMeets::Ground);
    if raw.depth_cm.is_some() && !in_ground {
        checker.wrong(
            &at.key("depth_cm"),
            "A surface in the air has no depth.",
            "Write \"meets\": \"ground\", or remove the depth.",
        );
    }
    let depth_m = checker.optional(&at.key("depth_cm"), raw.depth_cm, 0.0, &DEPTH_CM) / CM_PER_M;
    let foam_cm = checker.optional(&at.key("foam_cm"), raw.foam_cm, around.foam_cm, &FOAM_CM);
    let given = raw
        .u_w_per_m2_k
        .map(|u| checker.number(&at.key("u_w_per_m2_k"), u, &U_VALUE));
    if given.is_some() && raw.foam_cm.is_some() {
        checker.wrong(
            &at.key("foam_cm"),
            "\"u_w_per_m2_k\" holds wall and foam already.",
            "Keep one of the two.",
        );
    }
    let layers = 1.0 / INSIDE_W_PER_M2_K + around.lagging.wall + (around.foam)(foam_cm);
    let (resistance, meets) = match (given, in_ground) {
        (Some(u), true) => (1.0 / u, Meets::Soil { depth_m }),
        (Some(u), false) => (1.0 / u, Meets::AirDirectly),
        (None, true) => (
            layers + 1.0 / around.placement.contact_w_per_m2_k,
            Meets::Soil { depth_m },
        ),
        (None, false) => (layers, Meets::Air),
    };
    Face {
        name,
        area_m2,
        resistance,
        meets,
        sunlit: None,
    }
}

fn sunny(
    checker: &mut Checker,
    at: &Address,
    raw: &RawSunnyFace,
    foam_cm: f64,
    foam: &dyn Fn(f64) -> f64,
) -> (Sunlit, f64) {
    let glazed = raw.glazed.unwrap_or(false);
    if raw.passes_pct.is_some() && !glazed {
        checker.wrong(
            &at.key("passes_pct"),
            "There is no pane to pass anything.",
            "Write \"glazed\": true, or remove it.",
        );
    }
    let or = if glazed { PANE_PCT } else { PERCENT };
    let mut share =
        |key, value, or| checker.optional(&at.key(key), value, or, &SHARE_PCT) / PERCENT;
    let absorptance = share("absorbs_pct", raw.absorbs_pct, BLACK_PCT);
    let transmittance = share("passes_pct", raw.passes_pct, or);
    let behind = checker.optional(&at.key("foam_cm"), raw.foam_cm, foam_cm, &FOAM_CM);
    let sunlit = Sunlit {
        area_m2: checker.required(&at.key("area_m2"), raw.area_m2, &AREA_M2),
        absorptance,
        transmittance,
        glazing: if glazed { glazing_m2_k_per_w() } else { 0.0 },
    };
    (sunlit, foam(behind))
}

/// Refuses keys that the given shape has no use for: read and passed over, they would be believed.
fn idle_keys(checker: &mut Checker, at: &Address, raw: &RawHeat) {
    let (shape, more) = match &raw.shape {
        Some(RawShape::Bag(_)) => ("A bag has one skin all round", false),
        Some(RawShape::Surfaces(_)) => ("A list of surfaces says all this itself", true),
        Some(RawShape::Drum(_) | RawShape::Tote(_)) | None => return,
    };
    let given = [
        ("foam_top_cm", raw.foam_top_cm.is_some()),
        ("foam_bottom_cm", raw.foam_bottom_cm.is_some()),
        ("stands_on", raw.stands_on.is_some()),
        ("soil_w_per_m_k", raw.soil_w_per_m_k.is_some()),
        ("buried_cm", more && raw.buried_cm.is_some()),
    ];
    for (key, _) in given.into_iter().filter(|(_, given)| *given) {
        checker.wrong(
            &at.key(key),
            format!("{shape}, so this key would change nothing."),
            if more {
                "Remove it, and give each surface its \"meets\", \"depth_cm\" and \"foam_cm\"."
            } else {
                "Remove it; \"foam_cm\" and \"buried_cm\" hold for the whole bag."
            },
        );
    }
}

/// Even against a wall and on the ground a cover encloses so much of what a box shows to the air.
const LEAST_COVER: f64 = 0.5;

fn greenhouse(
    checker: &mut Checker,
    at: &Address,
    raw: &RawGreenhouse,
    faces: &[Face],
) -> Greenhouse {
    let in_air = faces
        .iter()
        .filter(|f| !matches!(f.meets, Meets::Soil { .. }));
    let covered: f64 = in_air.map(|f| f.area_m2).sum();
    if let Some(cover) = raw.cover_m2
        && cover < LEAST_COVER * covered
    {
        checker.outside(
            &at.key("cover_m2"),
            cover,
            format!("{:.1} m2 or more", LEAST_COVER * covered),
            format!(
                "A cover this small does not go over the vessel, which shows {covered:.1} m2 to the air."
            ),
            "Count all of the film or glass, roof and walls.",
        );
    }
    let floor = crate::scenario::limits::Limit {
        low: 0.0,
        ..AREA_M2
    };
    Greenhouse {
        cover_m2: checker.required(&at.key("cover_m2"), raw.cover_m2, &AREA_M2),
        cover_w_per_m2_k: checker.optional(
            &at.key("cover_w_per_m2_k"),
            raw.cover_w_per_m2_k,
            FILM_U,
            &U_VALUE,
        ),
        floor_m2: checker.required(&at.key("floor_m2"), raw.floor_m2, &floor),
        floor_absorptance: checker.optional(
            &at.key("floor_absorbs_pct"),
            raw.floor_absorbs_pct,
            FLOOR_PCT,
            &SHARE_PCT,
        ) / PERCENT,
        transmittance: checker.optional(
            &at.key("passes_pct"),
            raw.passes_pct,
            PANE_PCT,
            &SHARE_PCT,
        ) / PERCENT,
    }
}

/// Days beyond the run for which a heater's months are known: studies look a little further than the run.
const BEYOND_D: u32 = 400;

fn heater(checker: &mut Checker, at: &Address, raw: &RawHeater, calendar: &Calendar) -> Heater {
    let efficiency_at = at.key("efficiency_pct");
    let efficiency = checker.optional(
        &efficiency_at,
        raw.efficiency_pct,
        BOILER_PCT,
        &EFFICIENCY_PCT,
    ) / PERCENT;
    let source = match raw.source {
        Some(RawHeatSource::OwnGas) => HeatSource::OwnGas { efficiency },
        Some(RawHeatSource::Mains) => HeatSource::Mains,
        Some(RawHeatSource::EngineWaste) => HeatSource::EngineWaste,
        None => {
            checker.missing(
                &at.key("source"),
                "Choose \"own-gas\", \"mains\" or \"engine-waste\".",
            );
            HeatSource::Mains
        }
    };
    if raw.efficiency_pct.is_some() && !matches!(source, HeatSource::OwnGas { .. }) {
        checker.wrong(
            &efficiency_at,
            "Only a boiler on own gas has an efficiency here.",
            "Remove it, or write \"source\": \"own-gas\".",
        );
    }
    Heater {
        power_w: checker.required(&at.key("power_w"), raw.power_w, &POWER_W),
        set_c: checker.required(&at.key("set_c"), raw.set_c, &SET_C),
        band_k: checker.optional(&at.key("band_k"), raw.band_k, BAND, &BAND_K),
        source,
        on: on(checker, &at.key("months"), raw, calendar),
    }
}

/// When a heater is on: up over the first day of a month that counts, down over the first day after it.
fn on(
    checker: &mut Checker,
    at: &Address,
    raw: &RawHeater,
    calendar: &Calendar,
) -> TemperatureCourse {
    let always = TemperatureCourse::Constant(1.0);
    let Some(listed) = raw.months.as_deref() else {
        return always;
    };
    let months = months(checker, at, Some(listed));
    let (Some(days), Some(_)) = (calendar.days(), calendar.start()) else {
        calendar.need_start(checker, at);
        return always;
    };
    if months.iter().all(|on| *on) {
        return always;
    }
    let share = |day: u32| match calendar.month_of(day) {
        Some(month) if months[month] => 1.0,
        _ => 0.0,
    };
    let mut knots = vec![(0.0, share(0))];
    for day in 1..days + BEYOND_D {
        let (before, now) = (share(day - 1), share(day));
        if before != now {
            knots.push((f64::from(day), before));
            knots.push((f64::from(day + 1), now));
        }
    }
    TemperatureCourse::Table(knots)
}

/// Course of lifeless water in the vessel, with a warning where it leaves what the equations know.
pub(crate) fn first_course(
    checker: &mut Checker,
    at: &Address,
    heat: &Heat,
    liquid_m3: f64,
    days: u32,
) -> Vec<(f64, f64)> {
    let course = heat
        .surroundings
        .without_life(liquid_m3, heat.start_c, days);
    let ends = course
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), k| {
            (low.min(k.1), high.max(k.1))
        });
    if ends.0 < 0.0 {
        checker.warn(
            at,
            format!("Without life and feed its water would fall to {:.1} C.", ends.0),
            "Below 0 C it freezes: pipes and vessel can burst, and no gas is made. The heat of freezing is not computed.",
            "Insulate, bury, heat or empty the digester in time.",
        );
    }
    if ends.1 > TEMPERATURE_C.high {
        checker.warn(
            at,
            format!(
                "Without life and feed its water would rise to {:.1} C.",
                ends.1
            ),
            "No living group of these equations bears that.",
            "Less sun, more foam towards it, or a weaker heater.",
        );
    }
    course
}
