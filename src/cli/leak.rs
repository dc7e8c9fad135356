//! `marshgas leak`: two readings of a closed space or a bell, told as gas lost a day.

use serde_json::{Value, json};

use crate::chemistry::norm_dry_from_wet;
use crate::plant::cleaning::PA_PER_CM_WATER;
use crate::plant::leak::{
    BellTest, BuildingCheck, CheckVerdict, Leak, ReadingErrors, RigidTest, UNKNOWN_BAROMETER_HPA,
    Verdict, as_read_l, bell, building_check, rigid,
};
use crate::plant::{GasState, PlantFault, caution, within};
use crate::units::ATM_BAR;

use super::columns::{Side, lines, short, wrapped};
use super::failure::Failure;
use super::terminal::Terminal;

/// Tell from two readings how much gas leaks.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas leak --height 40 38.5 --diameter 57 --temperature 20 18 --hours 24
  marshgas leak --pressure 40 36 --volume 300 --temperature 20 19 --hours 12

Close every tap, read, wait, read again, best at the same hour next day. A
bell wants --height and --diameter, a closed rigid space wants --pressure
and --volume. There one kelvin of cooling looks like 3.5 cm of lost pressure,
1 hPa of the barometer like 1 cm: add --barometer 1013 1009. A digester that
still makes gas hides its leak.")]
pub(super) struct Options {
    /// Height of the gas under the bell at both readings, in cm, 0 to 1000.
    #[arg(long, num_args = 1..=2, value_names = ["FIRST", "SECOND"], value_parser = finite, allow_negative_numbers = true, conflicts_with = "pressure")]
    height: Option<Vec<f64>>,
    /// Inner diameter of the bell, in cm, 5 to 500.
    #[arg(long, value_name = "CM", value_parser = finite, allow_negative_numbers = true, requires = "height")]
    diameter: Option<f64>,
    /// Gas that the height does not count (digester head, pipes), in L, 0 to 1e6 [default: 0].
    #[arg(long, value_name = "L", value_parser = finite, allow_negative_numbers = true, requires = "height")]
    dead: Option<f64>,
    /// Pressure of the bell, in cm of water, 0 to 51 [default: 8].
    #[arg(long, value_name = "CM", value_parser = finite, allow_negative_numbers = true, requires = "height")]
    bell_pressure: Option<f64>,
    /// Pressure above the air at both readings, in cm of water, up to 102.
    #[arg(long, num_args = 1..=2, value_names = ["FIRST", "SECOND"], value_parser = finite, allow_negative_numbers = true)]
    pressure: Option<Vec<f64>>,
    /// Volume of the closed gas space, in L, up to 1e6.
    #[arg(long, value_name = "L", value_parser = finite, allow_negative_numbers = true, requires = "pressure")]
    volume: Option<f64>,
    /// Temperature of the gas at both readings, in C, -40 to 80; told where it is below 0 or above 60.
    #[arg(long, num_args = 1..=2, value_names = ["FIRST", "SECOND"], value_parser = finite, allow_negative_numbers = true)]
    temperature: Option<Vec<f64>>,
    /// Air pressure where you are at both readings, in hPa, 500 to 1100 [default: 1013.25 both times, give or take 5].
    #[arg(long, num_args = 1..=2, value_names = ["FIRST", "SECOND"], value_parser = finite, allow_negative_numbers = true)]
    barometer: Option<Vec<f64>>,
    /// How well the mean temperature of the gas is known each time, in K, 0 to 10 [default: 0.5].
    #[arg(long, value_name = "K", value_parser = finite, allow_negative_numbers = true)]
    temperature_error: Option<f64>,
    /// Time between the readings, in hours, up to 10000.
    #[arg(long, value_name = "H", value_parser = finite, allow_negative_numbers = true)]
    hours: Option<f64>,
    /// Relative humidity of the gas, 0 to 1 [default: 1, over water or liquor].
    #[arg(long, value_name = "SHARE", value_parser = finite, allow_negative_numbers = true, default_value_t = 1.0, hide_default_value = true)]
    humidity: f64,
    /// Gas that you make a day, in L as you read it, above 0: tells the share that is lost [default: none].
    #[arg(long, value_name = "L", value_parser = finite, allow_negative_numbers = true)]
    daily: Option<f64>,
}

/// Pressure of a bell where none is given \[cm of water\]. Common practice, no source: it hardly matters here.
const BELL_PRESSURE_CM: f64 = 8.0;
const WIDTH: usize = 80;
/// Water freezes below this, and gas above this is hotter than any here \[C\].
const FREEZES_C: f64 = 0.0;
const HOT_C: f64 = 60.0;
/// What matters while one reads a gauge and looks for a leak; the others stand where they belong.
const CAUTIONS: [&str; 3] = ["explosive-mixture", "hydrogen-sulphide", "leak-search"];
fn finite(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        _ => Err("give a finite number with a decimal point, such as 38.5".into()),
    }
}

/// The result with what it was computed of.
struct Told {
    leak: Leak,
    check: Option<BuildingCheck>,
    states: [GasState; 2],
    daily_l: Option<f64>,
    hours: f64,
    /// Height or pressure at both readings, as they were given.
    readings: [f64; 2],
    humidity: f64,
    barometer_known: bool,
    is_bell: bool,
    errors: ReadingErrors,
}

impl Told {
    /// Why the readings can tell of no leak, however they differ; a loss that is seen all the same stays one.
    fn nothing_to_lose(&self) -> Option<&'static str> {
        let [first, second] = self.readings;
        if first <= 0.0 {
            Some(match self.is_bell {
                true => {
                    "the bell was down at the first reading, and nothing was under it to be lost. Let it fill, and begin again."
                }
                false => {
                    "there was no pressure at the first reading to push gas out. Let it rise, close every tap, and begin again."
                }
            })
        } else if second <= GONE * first {
            Some(
                "what was there is gone, or nearly, and it was little beside the errors of reading. Begin with more.",
            )
        } else {
            None
        }
    }

    /// Lost a day as the owner reads it: dry, at the state of the first reading \[L/d\].
    fn read_l_d(&self) -> f64 {
        as_read_l(self.leak.lost_nl_d, &self.states[0])
    }

    /// Lost as a share of the day's gas.
    fn share(&self) -> Option<f64> {
        let [first, _] = self.states;
        self.daily_l.map(|daily| {
            self.leak.lost_nl_d
                / norm_dry_from_wet(daily, first.kelvin(), first.bar(), self.humidity)
        })
    }
}

/// What the plant's units call a setting, and the option that gives it.
const OPTIONS: [(&str, &str); 8] = [
    ("height", "--height"),
    ("diameter", "--diameter"),
    ("dead volume", "--dead"),
    ("pressure", "--pressure"),
    ("volume", "--volume"),
    ("temperature", "--temperature"),
    ("hours", "--hours"),
    ("humidity", "--humidity"),
];

/// A fault in the words of the command line.
fn by_option(fault: PlantFault) -> PlantFault {
    fault.renamed(|field| {
        let option = OPTIONS.iter().find(|(name, _)| *name == field);
        option.map_or_else(|| field.to_owned(), |(_, option)| (*option).to_owned())
    })
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let told = compute(options)?;
    if terminal.wants_json() {
        return terminal.print_json(&as_json(&told));
    }
    terminal.print(&as_text(&told))
}

/// An option that must be there: its name, whether it is, what it is with its range, an example.
type Needed = (&'static str, bool, &'static str, &'static str);

/// Tells every option that is missing, with what it is, its range and how to write it.
fn complete(options: &Options) -> Result<(), Failure> {
    let mut needed: Vec<Needed> = Vec::new();
    match (&options.height, &options.pressure) {
        (None, None) => needed.push((
            "--height or --pressure",
            false,
            "both readings: the height of the gas under a bell in cm, 0 to 1000, or the pressure of a closed space in cm of \
             water, up to 102",
            "--height 40 38.5 --diameter 57, or --pressure 40 36 --volume 300",
        )),
        (Some(_), _) => needed.push((
            "--diameter",
            options.diameter.is_some(),
            "the inner diameter of the bell in cm, 5 to 500",
            "--diameter 57",
        )),
        (None, Some(_)) => needed.push((
            "--volume",
            options.volume.is_some(),
            "the closed gas space in L, up to 1000000",
            "--volume 300",
        )),
    }
    needed.push((
        "--temperature",
        options.temperature.is_some(),
        "the temperature of the gas at both readings in C, -40 to 80",
        "--temperature 20 18",
    ));
    needed.push((
        "--hours",
        options.hours.is_some(),
        "the time between the readings in hours, above 0 up to 10000",
        "--hours 24",
    ));
    let mut missing: Vec<String> = needed
        .iter()
        .filter(|(_, there, ..)| !there)
        .map(|(name, _, what, example)| {
            format!("{name} is missing: give {what}, such as {example}.")
        })
        .collect();
    missing.extend(half_given(options));
    if missing.is_empty() {
        return Ok(());
    }
    Err(Failure::Usage(missing.join("\n  ")))
}

/// Readings of which only one is given.
fn half_given(options: &Options) -> Vec<String> {
    [
        ("--height", &options.height, "40 38.5"),
        ("--pressure", &options.pressure, "40 36"),
        ("--temperature", &options.temperature, "20 18"),
        ("--barometer", &options.barometer, "1013 1009"),
    ]
    .into_iter()
    .filter_map(|(name, given, example)| match given.as_deref() {
        Some([one]) => Some(format!(
            "{name} has one reading, {one}, and a leak shows between two: give both, such as {name} {example}."
        )),
        _ => None,
    })
    .collect()
}

fn compute(options: &Options) -> Result<Told, Failure> {
    complete(options)?;
    if let Some(daily) = options.daily.filter(|daily| *daily <= 0.0) {
        return Err(Failure::Usage(format!(
            "--daily is {daily}: give a number above 0 L. Leave it out if you do not know it."
        )));
    }
    let pair = |values: &[f64]| [values[0], values[1]];
    let temperatures = options.temperature.as_deref().map_or([f64::NAN; 2], pair);
    let hours = options.hours.unwrap_or(f64::NAN);
    let barometers = options
        .barometer
        .as_deref()
        .map_or([ATM_BAR * 1000.0; 2], pair);
    for hpa in barometers {
        within(
            "--barometer",
            hpa,
            (500.0, 1100.0),
            "hPa",
            "Give the air pressure at your height, not that at sea level.",
        )?;
    }
    for celsius in temperatures {
        within(
            "--temperature",
            celsius,
            (-40.0, 80.0),
            "C",
            "Give the temperature of the gas.",
        )?;
    }
    if let Some(kelvin) = options.temperature_error {
        within(
            "--temperature-error",
            kelvin,
            (0.0, 10.0),
            "K",
            "Give how far the thermometer may be off the mean of the gas.",
        )?;
    }
    if let Some(cm) = options.bell_pressure.filter(|cm| *cm < 0.0) {
        return Err(Failure::Usage(format!(
            "--bell-pressure is {cm}: a floating bell presses on its gas. Give 0 to 51 cm of water."
        )));
    }
    let gauges = match &options.pressure {
        Some(pressure) => pair(pressure).map(|cm| cm * PA_PER_CM_WATER),
        None => [options.bell_pressure.unwrap_or(BELL_PRESSURE_CM) * PA_PER_CM_WATER; 2],
    };
    let states = [0, 1].map(|i| GasState {
        temperature_c: temperatures[i],
        gauge_pa: gauges[i],
        barometer_kpa: barometers[i] / 10.0,
    });
    let standard = ReadingErrors::default();
    let errors = ReadingErrors {
        temperature_k: options.temperature_error.unwrap_or(standard.temperature_k),
        barometer_hpa: match &options.barometer {
            Some(_) => standard.barometer_hpa,
            None => UNKNOWN_BAROMETER_HPA,
        },
        ..standard
    };
    let (leak, check) = match (&options.height, options.volume) {
        (Some(heights), _) => {
            let test = BellTest {
                diameter_cm: options.diameter.unwrap_or(f64::NAN),
                heights_cm: pair(heights),
                dead_l: options.dead.unwrap_or(0.0),
                states,
                hours,
                humidity: options.humidity,
            };
            crate::plant::check_gauge("--bell-pressure", gauges[0])?;
            (bell(&test, &errors).map_err(by_option)?, None)
        }
        (None, volume) => {
            let test = RigidTest {
                volume_l: volume.unwrap_or(f64::NAN),
                states,
                hours,
                humidity: options.humidity,
            };
            let leak = rigid(&test, &errors).map_err(by_option)?;
            let check = (gauges[0] > 0.0)
                .then(|| building_check(&test, &errors))
                .transpose()
                .map_err(by_option)?;
            (leak, check)
        }
    };
    Ok(Told {
        leak,
        check,
        states,
        daily_l: options.daily,
        hours,
        readings: (options.height.as_deref())
            .or(options.pressure.as_deref())
            .map_or([f64::NAN; 2], pair),
        humidity: options.humidity,
        barometer_known: options.barometer.is_some(),
        is_bell: options.height.is_some(),
        errors,
    })
}

/// A shorter wait is told \[h\]: a night is usual. Common practice, no source.
const SHORT_H: f64 = 4.0;
/// Share of the first reading that is left of a bell or a pressure which is all but gone.
const GONE: f64 = 0.1;

/// What the readings themselves make doubtful.
fn doubts(told: &Told) -> Vec<String> {
    let mut doubts = Vec::new();
    let [first, second] = told.readings;
    if told.hours < SHORT_H {
        doubts.push(format!(
            "{} h is a short wait: what was lost in it is told for a whole day, {} times as much, and so is every error of \
             reading and any gas that was drawn meanwhile. Close every tap and wait a night.",
            short(told.hours),
            short(24.0 / told.hours)
        ));
    }
    if !told.is_bell && first.min(second) < 0.0 {
        doubts.push(
            "The space sucks: air comes in by any hole, and air in gas can explode. Light nothing there; find out what draws (a \
             pump, cooling, or an outlet that empties the tank) before you go on."
                .to_owned(),
        );
    }
    // Of what is not seen to be lost nothing is the least.
    let seen = matches!(told.leak.verdict(), Verdict::Leaks);
    if seen && first > 0.0 && second <= GONE * first {
        doubts.push(
            if told.is_bell {
                "The bell is down, or nearly: it may have come to rest long before the second reading, and what then leaked it no \
                 longer shows. Count this as the least that is lost, look for an open tap or a burst hose first, and read again \
                 sooner."
            } else {
                "The pressure is gone, or nearly: it may have been so long before the second reading. Count this as the least that \
                 is lost, look for an open tap first, and read again sooner."
            }
            .to_owned(),
        );
    }
    doubts
}

/// What the result means: full sentences.
fn meaning(told: &Told) -> Vec<String> {
    let leak = &told.leak;
    let seen = 2.0 * leak.error_nl_d;
    let mut sentences = vec![match leak.verdict() {
        Verdict::Leaks => format!("It leaks: {} NL a day.", short(leak.lost_nl_d)),
        _ if told.nothing_to_lose().is_some() => {
            format!("Nothing can be told: {}", told.nothing_to_lose().unwrap_or_default())
        }
        Verdict::Gains => {
            "There is more gas than before: it is still being made, or a reading is wrong. Nothing can be said about a \
             leak."
                .to_owned()
        }
        Verdict::NotSeen => format!(
            "No leak is seen: any is smaller than about {} NL a day, which is what the readings can tell. A longer wait \
             or a fuller store tells more.",
            short((leak.lost_nl_d.max(0.0) + seen).max(seen))
        ),
    }];
    sentences.extend(doubts(told));
    if !told.barometer_known {
        let counts = match told.is_bell {
            true => "1 hPa counts as a thousandth of the gas",
            false => "1 hPa counts as 1 cm of pressure",
        };
        sentences.push(format!(
            "The barometer is taken as unchanged, give or take {UNKNOWN_BAROMETER_HPA} hPa; give --barometer, for {counts}."
        ));
    }
    let celsius = told.states.map(|s| s.temperature_c);
    if celsius.iter().any(|c| *c < FREEZES_C) {
        sentences.push(
            "Below 0 C the water of bell, seal and gauge freezes, and what is frozen moves no more: the result holds for brine \
             or oil in them alone. The vapour is counted as over water."
                .to_owned(),
        );
    }
    if celsius.iter().any(|c| *c > HOT_C) {
        sentences.push(format!(
            "Above {HOT_C} C no gas of a home digester is: look at the thermometer. A fifth and more of wet gas is vapour there, \
             so that a kelvin counts twice."
        ));
    }
    let corrected = leak.uncorrected_nl_d - leak.lost_nl_d;
    if corrected.abs() > seen && corrected.abs() > 0.0 {
        sentences.push(format!(
            "Temperature and barometer alone made it look like {} NL a day.",
            short(corrected)
        ));
    }
    if let Some(check) = &told.check {
        let words = match (check.verdict, check.complete) {
            (CheckVerdict::Passes, true) => "passes",
            (CheckVerdict::Passes, false) => {
                "would be met, but this test is too short or too weak for it"
            }
            (CheckVerdict::Fails, true) => "fails",
            (CheckVerdict::Fails, false) => "is not met",
            (CheckVerdict::CannotBeTold, _) => {
                "cannot be told from these readings: give --barometer, and --temperature-error for a better thermometer"
            }
        };
        let moved = match check.fall_kpa < 0.0 {
            true => "rose",
            false => "fell",
        };
        sentences.push(format!(
            "Corrected for temperature and barometer the pressure {moved} by {} % of {} kPa, give or take {} %. The household check of masonry domes (8 kPa, 24 h, at \
             most 3 %) {words}.",
            short(check.fall_share.abs() * 100.0),
            short(check.start_kpa),
            short(2.0 * check.fall_error_kpa / check.start_kpa * 100.0)
        ));
    }
    sentences
}

/// The cautions of a leak test, with those of pressure where the space was above what a store may hold.
fn cautions(told: &Told) -> Vec<&'static str> {
    let strong = told
        .states
        .iter()
        .any(|state| state.gauge_pa > crate::plant::HIGHEST_GAUGE_PA);
    let pressure = caution::cautions_at(caution::Place::Pressure).filter(|_| strong);
    let leak = caution::cautions_at(caution::Place::Leak)
        .filter(|caution| CAUTIONS.contains(&caution.name.as_str()));
    let mut texts: Vec<&str> = Vec::new();
    for caution in pressure.chain(leak) {
        texts.push(&caution.text);
    }
    texts.push(caution::referral());
    texts
}

fn as_text(told: &Told) -> String {
    let leak = &told.leak;
    let row =
        |what: &str, value: String, unit: &str| vec![format!("  {what}"), value, unit.to_owned()];
    let mut rows = vec![
        row("gas at the first reading", short(leak.first_nl), "NL"),
        row("gas at the second reading", short(leak.second_nl), "NL"),
        row("lost", short(leak.lost_nl_d), "NL/d"),
        row("lost, as you read it", short(told.read_l_d()), "L/d dry"),
        row(
            "error of reading, two ways",
            short(2.0 * leak.error_nl_d),
            "NL/d",
        ),
        row(
            "lost, if nothing is corrected",
            short(leak.uncorrected_nl_d),
            "NL/d",
        ),
    ];
    if let Some(share) = told.share() {
        rows.push(row("share of the day's gas", short(share * 100.0), "%"));
    }
    let mut text = format!(
        "Leak test\n{}\n",
        lines(&[Side::Left, Side::Right, Side::Left], &rows)
    );
    for sentence in meaning(told) {
        text.push_str(&wrapped(&sentence, WIDTH, 0));
    }
    text.push('\n');
    let foot = format!(
        "NL is a norm litre: dry gas at 0 C and 101.325 kPa. The error takes {} K, {} hPa, 1 mm of the U-tube or of the bell \
         (common practice, no source), twice.",
        short(told.errors.temperature_k),
        short(told.errors.barometer_hpa)
    );
    text.push_str(&wrapped(&foot, WIDTH, 0));
    text.push_str("\nCautions\n");
    for caution in cautions(told) {
        text.push_str(&wrapped(caution, WIDTH, 2));
    }
    text
}

fn as_json(told: &Told) -> Value {
    json!({
        "leak": told.leak,
        "verdict": match told.nothing_to_lose() {
            Some(_) if told.leak.verdict() != Verdict::Leaks => json!("cannot-be-told"),
            _ => json!(told.leak.verdict()),
        },
        "lost_as_read_l_d": told.read_l_d(),
        "share_of_daily_gas": told.share(),
        "errors": told.errors,
        "building_check": told.check,
        "meaning": meaning(told),
        "cautions": cautions(told),
    })
}
