//! First inputs for the target `saved`: the books of all cases, saved and opened.
//!
//! `cargo run -p kitlore-laws --example saved_seeds FOLDER`

use kitlore_engine::Program;
use kitlore_tests::case::read_folder;
use kitlore_tests::evaluators::{book, house};
use std::path::Path;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).ok_or("write the folder that gets the inputs")?;
    let cases = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases");
    std::fs::create_dir_all(&folder)?;
    for (number, case) in read_folder(&cases).iter().enumerate() {
        let Ok(house) = house(&case.question.rules) else { continue };
        let mut file = Vec::new();
        book(&Program::compile(house), &case.question).save(&mut file)?;
        let contents = kitlore_laws::opened(&file).ok_or("a block is longer than an input may be")?;
        std::fs::write(Path::new(&folder).join(format!("seed-{number:04}")), contents)?;
    }
    Ok(())
}
