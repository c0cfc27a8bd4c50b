//! Every form of the language is read as the reference says.

use kitlore_syntax::tree::House;
use kitlore_syntax::{NoIncludes, parse};

fn house(text: &str) -> House {
    parse("t.lore", text, &NoIncludes).unwrap_or_else(|e| panic!("{e}\n in:\n{text}"))
}

/// The texts of the atoms of each rule, as accounts quote them.
fn quoted(text: &str) -> Vec<String> {
    let house = house(text);
    let atoms = house.rules.iter().flat_map(|r| r.trigger.atoms());
    atoms.map(|a| house.sources.text(a.span).to_owned()).collect()
}

const SAMPLE: &str = r#"
house "Saltmarsh Pictures"            # scenario names are invented
time zone Europe/Lisbon

a rangefinder is a camera             # kinds can be narrower than others
clean sensor covers inspect sensor    # doing the first also counts as the second

for cameras
  after 20 lens changes in dust or 90 days, inspect sensor
    needs blower, plain bright wall
    takes 10 minutes
    notice 14 days
  when inspect sensor finds dust, clean sensor
    needs blower, sensor swabs
    caution "Charged battery only: a shutter that closes on the swab is a repair."
  7 days after each firmware release unless firmware recall or a newer firmware release, install firmware
  after 200,000 frames, service shutter
    by "an authorised workshop"
  before every trip, inspect strap
    within 3 days
  when inspect strap finds fraying, replace strap
    do not use until done

for batteries
  at age 12 months, retire battery; no later than age 24 months
  when capacity is below 80 percent, retire battery
for batteries where maker is "third party"
  instead, at age 6 months or when capacity is below 80 percent, retire battery

for tripods and monopods
  after every trip in sand or salt air, rinse legs
  after 60 shoots (in sand count 3) and 6 months, tighten clamps
  every year on 1 March, grease spigot
    notice 2 weeks

example "a dusty weekend"
  camera C1 received 2026-01-10
  2026-02-07 C1 lens change 12 in dust
  2026-02-08 C1 lens change 8 in dust
  on 2026-02-07 C1 inspect sensor is clear
  on 2026-02-08 C1 inspect sensor is due since 2026-02-08
"#;

#[test]
fn sample() {
    assert_eq!(
        quoted(SAMPLE),
        [
            "20 lens changes in dust",
            "90 days",
            "when inspect sensor finds dust",
            "7 days after each firmware release unless firmware recall or a newer firmware release",
            "200,000 frames",
            "before every trip",
            "when inspect strap finds fraying",
            "age 12 months",
            "when capacity is below 80 percent",
            "age 6 months",
            "when capacity is below 80 percent",
            "every trip in sand or salt air",
            "60 shoots (in sand count 3)",
            "6 months",
            "every year on 1 March",
        ]
    );
    println!("{:#?}", house(SAMPLE).examples);
}
