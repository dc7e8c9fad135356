//! A fit as it is worded.

use super::*;
use crate::diary::fit::least_squares::Stop;
use crate::diary::fit::result::Residual;

#[test]
fn a_jump_sends_to_the_diagnosis() {
    let jump = Jump {
        day: 24.5,
        before: 1.2,
        after: -1.9,
    };
    let words = leaves(&jump, None);
    assert!(
        words.starts_with("About day 24 something seems to have begun"),
        "{words}"
    );
    assert!(
        words.contains("show less beside the fit than before, by 3.1 standard"),
        "{words}"
    );
    assert!(
        words.contains("Ask \"marshgas diary diagnose\" first"),
        "{words}"
    );
}

fn fit(jump: Option<Jump>) -> Fit {
    let gas = |from_day: f64, day: f64, seen: f64| Residual {
        line: 2,
        what: What::Gas,
        from_day,
        day,
        seen,
        computed: 100.0,
        off: 0.0,
    };
    let day = |day: u32, ahead: bool| DayBand {
        day,
        ahead,
        gas_nl: [80.0, 90.0, 100.0, 110.0, 120.0],
        gas_read_nl: [70.0, 85.0, 100.0, 115.0, 130.0],
        ph: [7.0, 7.1, 7.2],
        methane: [0.55, 0.6, 0.65],
    };
    Fit {
        title: String::new(),
        start_date: "2026-03-01".into(),
        last_day: 28.0,
        readings: 3,
        unknowns: Vec::new(),
        directions: Vec::new(),
        open: vec!["Something is open.".into()],
        stop: Stop::Settled,
        runs: 1,
        failed: 0,
        starts: Vec::new(),
        noise: 1.0,
        effective_draws: 1.0,
        draws: 1,
        weighted: true,
        seed: 1,
        usual_gas_nl: 100.0,
        residuals: vec![
            gas(20.0, 24.0, 500.0),
            gas(25.0, 27.0, 90.0),
            gas(27.0, 28.0, 30.0),
        ],
        jump,
        days: vec![day(28, false), day(29, true)],
        notes: Vec::new(),
        version: "",
        file: String::new(),
        sha256: String::new(),
    }
}

#[test]
fn a_forecast_over_a_jump_says_what_was_read_since() {
    let jump = Jump {
        day: 24.5,
        before: 1.2,
        after: -1.9,
    };
    let page = |fit: &Fit| {
        let page = diary_fit(fit, &[]);
        let forecast = &page.tables[1];
        let caption = page.figures[0].caption.clone();
        [
            page.story.join(" "),
            page.advice.join(" "),
            format!("{} {}", forecast.title, forecast.note),
            caption,
        ]
        // Numbers stay with their units on the page.
        .map(|text| text.replace('\u{a0}', " "))
    };
    let [story, advice, forecast, caption] = page(&fit(Some(jump)));
    // 90 and 30 L over three days.
    let since = "what changed about day 24 (25 March 2026): it is no forecast of yours. Since then about 40 norm litres a \
                 day were read; if nothing is done, expect that.";
    for text in [&story, &forecast, &caption] {
        assert!(text.contains(since), "{text}");
    }
    assert!(
        story.contains("About day 24 (25 March 2026) something seems to have begun"),
        "{story}"
    );
    assert!(
        advice.starts_with("Ask \"marshgas diary diagnose\""),
        "{advice}"
    );
    assert!(
        forecast.starts_with("The next days with the jump left out"),
        "{forecast}"
    );
    // The same record without a jump speaks of none.
    for text in page(&fit(None)) {
        assert!(
            !text.contains("jump")
                && !text.contains("diagnose")
                && !text.contains("forecast of yours"),
            "{text}"
        );
    }
}

#[test]
fn no_page_of_a_fit_shows_bare_backticks() {
    let fit = fit(None);
    let page = crate::report::html(&diary_fit(&fit, &[])).unwrap();
    let text = page.split("<body").last().unwrap();
    assert!(
        !text.contains('`'),
        "{}",
        text.split('`').nth(1).unwrap_or("")
    );
}
