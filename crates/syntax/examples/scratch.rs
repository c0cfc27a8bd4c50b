use kitlore_syntax::{NoIncludes, parse};
fn show(text: &str) -> bool {
    match parse("t.lore", text, &NoIncludes) {
        Ok(h) => { for d in &h.doubts { println!("  doubt {}: {} | {:?}", d.code, d.message, d.help); } true }
        Err(e) => {
            for d in &e.list {
                let (l, c) = e.sources.line_column(d.span);
                println!("  {l}:{c} {}: {}\n      [{}]\n      help: {}", d.code, d.message, e.sources.text(d.span), d.help.as_deref().unwrap_or("-"));
            }
            false
        }
    }
}
fn main() {
    let args: Vec<String> = std::env::args().collect();
    for path in &args[2..] {
        let all = std::fs::read_to_string(path).unwrap();
        if args[1] == "file" { println!("{path}"); show(&all); continue; }
        for case in all.split("\n=== ").skip(1) {
            let (title, rest) = case.split_once('\n').unwrap_or((case, ""));
            let rules = rest.split("\n---").next().unwrap();
            match args[1].as_str() {
                "cases" => {
                    let expect = !rest.lines().any(|l| l == "error");
                    let ok = parse("t.lore", rules, &NoIncludes).is_ok();
                    if ok != expect { println!("=== MISMATCH {path}: {title} expect ok={expect}\n{rules}"); show(rules); }
                }
                _ => { println!("=== {title}\n{rules}"); if show(rules) { println!("  ACCEPTED"); } }
            }
        }
    }
}
