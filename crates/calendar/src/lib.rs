//! Standings as an iCalendar file (RFC 5545): one task to do per row with a date.
