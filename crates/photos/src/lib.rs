//! Photographs as the use log: frames, shooting days and lens changes read off their metadata.
