//! Standings, forecasts and trips as one self-contained HTML page.
