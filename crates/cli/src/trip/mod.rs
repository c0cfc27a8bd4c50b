//! `kitlore trip`: what a trip needs before it, on the way, on return and in the bag.

mod csv;
mod table;

use crate::args::{OutputForm, TripArgs};
use crate::screen::Host;
use crate::stop::Stop;
use crate::{load, problems};
use kitlore::planning::{Journey, TripAsk, TripError};
use kitlore::render::{json, page};
use kitlore::{NaiveDate, When};

/// Runs the command.
pub(crate) fn trip(args: &TripArgs, host: &mut Host<'_>) -> Result<u8, Stop> {
    let ask = ask(args)?;
    let rules = load::rules(&args.files.rules, host)?;
    let at = load::at(args.at.as_deref(), &rules, host.now)?;
    let mut book = load::book(&args.files, &rules)?;
    let trip = kitlore::planning::trip(&mut book, at, &ask).map_err(|error| match error {
        TripError::Backwards { .. } => Stop::Use(error.to_string()),
        error => Stop::data(error),
    })?;
    match args.form {
        OutputForm::Json => {
            serde_json::to_writer(&mut *host.out, &json::trip(&trip))
                .map_err(|error| Stop::Write(error.into()))?;
            host.print("\n")?;
        }
        OutputForm::Csv => self::csv::write(&trip, host)?,
        OutputForm::Html => host.print(&page::trip(&trip))?,
        OutputForm::Table => {
            let text = table::table(&trip, host.text_width(), host.colour_out);
            host.print(&text)?;
        }
    }
    host.out.flush()?;
    let standings = load::standings(&mut book, args.at.as_deref(), at);
    problems::report(standings.problems(), args.problems, host);
    Ok(0)
}

/// The question that the arguments describe.
fn ask(args: &TripArgs) -> Result<TripAsk, Stop> {
    let journey = match (&args.trip, &args.from, &args.to, &args.kit) {
        (_, Some(from), Some(to), Some(kit)) => Journey::Described {
            event: args.event.clone(),
            from: date("--from", from)?,
            to: date("--to", to)?,
            item: kit.clone(),
            conditions: args.conditions.clone(),
        },
        (Some(trip), ..) => Journey::Logged(trip.clone()),
        _ => {
            return Err(Stop::Use(
                "say which trip: the ref or the line of one in the log, or describe one with `--from DATE --to DATE --kit KIT`"
                    .to_owned(),
            ));
        }
    };
    let mut ask = TripAsk::new(journey);
    if let Some(expect) = &args.expect {
        ask = ask.expecting(expect).map_err(|error| Stop::Use(format!("`--expect`: {error}")))?;
    }
    ask.mention = f64::from(args.chance) / 100.0;
    ask.seed = args.seed;
    Ok(ask)
}

fn date(option: &str, text: &str) -> Result<NaiveDate, Stop> {
    match When::parse(text.trim()) {
        Ok(When::Date(date)) => Ok(date),
        Ok(_) => Err(Stop::Use(format!(
            "`{option}` `{text}` is more than a date; write a date such as `2026-03-01`"
        ))),
        Err(error) => Err(Stop::Use(format!("`{option}` `{text}` {error}"))),
    }
}
