//! Problems of the data, for people.

use crate::close::did_you_mean;
use crate::screen::{FAINT, Host, paint, plain, wrap};
use kitlore::Problem;
use kitlore::words::counted;

/// Up to so many problems are told one by one without being asked for.
const FEW: usize = 6;

/// Tells the problems: all of them, or when they are many each code with its first place.
pub(crate) fn tell(problems: &[Problem], all: bool, host: &mut Host<'_>) {
    if problems.is_empty() {
        return;
    }
    host.say(&format!("{} in the data", counted(problems.len(), "problem")));
    if all || problems.len() <= FEW {
        for problem in problems {
            let line = line(problem, host.width, host.colour_err);
            host.say(&line);
        }
        return;
    }
    let mut codes: Vec<(&str, Vec<&Problem>)> = Vec::new();
    for problem in problems {
        match codes.iter_mut().find(|(code, _)| *code == problem.code) {
            Some((_, list)) => list.push(problem),
            None => codes.push((&problem.code, vec![problem])),
        }
    }
    for (_, list) in &codes {
        if let Some(first) = list.first() {
            let line = line(first, host.width, host.colour_err);
            host.say(&line);
        }
        if list.len() > 1 {
            let places: Vec<String> =
                list.iter().skip(1).take(5).filter_map(|problem| place(problem)).collect();
            let dots = if list.len() > 6 { ", ..." } else { "" };
            let at = if places.is_empty() { String::new() } else { format!(": {}{dots}", places.join(", ")) };
            host.say(&format!("    and {} like it{at}", list.len() - 1));
        }
    }
    host.say("`--problems` lists every one");
}

fn place(problem: &Problem) -> Option<String> {
    problem.place.as_ref().map(|place| format!("{}:{}", plain(&place.source), place.line))
}

/// One problem: place, message, the name that was probably meant, code.
pub(crate) fn line(problem: &Problem, width: usize, colour: bool) -> String {
    let at = place(problem).map_or_else(String::new, |place| format!("{place}: "));
    let meant = did_you_mean(problem.meant.as_deref());
    let code = format!("[{}]", problem.code);
    let text = format!("{at}{} {code}", plain(&format!("{}{meant}", problem.message)));
    let text = format!("  {}", wrap(&text, width.saturating_sub(4), "").join("\n    "));
    match text.strip_suffix(code.as_str()) {
        Some(before) => format!("{before}{}", paint(colour, FAINT, &code)),
        None => text,
    }
}
