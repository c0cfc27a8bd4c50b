use kitlore_syntax::*;
fn main() {
    let mut cases = vec![];
    for e in std::fs::read_dir("crates/syntax/tests/wrong").unwrap() {
        let p = e.unwrap().path();
        let t = std::fs::read_to_string(&p).unwrap();
        for c in t.split("\n=== ").skip(1) {
            let (title, text) = c.split_once('\n').unwrap();
            cases.push((
                format!("{}: {title}", p.file_stem().unwrap().to_str().unwrap()),
                text.trim_end_matches('\n').to_owned(),
            ));
        }
    }
    cases.sort();
    for c in codes::Code::ALL {
        if !c.example().is_empty() {
            cases.push((format!("code: {}", c.word()), c.example().to_owned()));
        }
    }
    let (mut diags, mut fixed, mut amb) = (0, 0, 0);
    let t0 = std::time::Instant::now();
    for (title, text) in &cases {
        let (list, sources) = match parse("t.lore", text, &NoIncludes) {
            Ok(h) => (h.doubts.clone(), h.sources),
            Err(e) => (e.list, e.sources),
        };
        for d in &list {
            diags += 1;
            match &d.fix {
                Some(f) => {
                    fixed += 1;
                    let norm = sources.get(d.span.source).unwrap().text.clone();
                    println!(
                        "FIX  {title} | {text:?} -> {:?} | {} {} | {}",
                        f.applied(&norm),
                        d.code,
                        d.message,
                        d.help.as_deref().unwrap_or("")
                    )
                }
                None => {
                    if d.help.as_ref().is_some_and(|h| h.ends_with("as is meant")) {
                        amb += 1
                    }
                    println!(
                        "NONE {title} | {text:?} | {} {} | {}",
                        d.code,
                        d.message,
                        d.help.as_deref().unwrap_or("")
                    )
                }
            }
        }
    }
    println!("diagnostics {diags}, fixed {fixed}, ambiguous {amb}, {:?}", t0.elapsed());
}
