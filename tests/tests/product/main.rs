//! What people are shown beyond standings: the examples, trips, pictures.

mod examples;
mod photo_cases;
mod photos;
mod photos_mutated;
mod slips;
mod trip_laws;
mod trips;
