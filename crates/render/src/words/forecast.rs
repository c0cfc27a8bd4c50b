//! What a forecast rests on, in words.

use kitlore_planning::{Basis, Forecast, KnownUse};

/// What a forecast rests on; empty where too little is known of all use.
pub fn basis(basis: &Basis) -> String {
    match basis {
        Basis::Due => "due already".to_owned(),
        Basis::Date => "a certain date".to_owned(),
        Basis::NoUse => "hangs on what is found, read or planned".to_owned(),
        Basis::Use(uses) => joined(uses),
    }
}

/// Why nothing can be said of the use of a row, where there is too little to go by.
pub fn too_little(forecast: &Forecast) -> Option<String> {
    let uses = &forecast.too_little;
    (!uses.is_empty()).then(|| format!("too little to go by: {}", joined(uses)))
}

fn joined(uses: &[KnownUse]) -> String {
    uses.iter().map(known).collect::<Vec<_>>().join("; ")
}

/// `lens changes in dust: 43 in 64 weeks, and 5 others of its kind, by season`.
fn known(used: &KnownUse) -> String {
    let mut from: Vec<String> = own(used.own, used.weeks).into_iter().collect();
    if used.others > 0 {
        from.push(format!(
            "{} {} of its kind",
            used.others,
            if used.others == 1 { "other" } else { "others" }
        ));
    }
    if from.is_empty() {
        from.push("no use known".to_owned());
    }
    let mut text = format!("{}: {}", used.counted, from.join(", and "));
    if used.by_season {
        text += ", by season";
    }
    for (from, to) in &used.plans {
        text += &format!(", planned {from} to {to}");
    }
    text
}

/// `43 in 64 weeks`; `None` of an item of which no time is known.
fn own(own: f64, weeks: f64) -> Option<String> {
    let weeks = match weeks.round() {
        _ if weeks <= 0.0 && own <= 0.0 => return None,
        0.0 => "less than a week".to_owned(),
        1.0 => "1 week".to_owned(),
        many => format!("{many} weeks"),
    };
    Some(format!("{} in {weeks}", rounded(own)))
}

/// A number without needless digits.
fn rounded(number: f64) -> String {
    // The sum of no numbers is -0; 0 added makes it 0.
    let rounded = (number * 10.0).round() / 10.0 + 0.0;
    if rounded.fract() == 0.0 { format!("{rounded:.0}") } else { format!("{rounded:.1}") }
}
