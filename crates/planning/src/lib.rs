//! Looking ahead: forecasts of when use brings a task due, and trips with what to do and to pack.
