//! Pictures: any bytes give metadata or are refused with a code.

use std::io::Cursor;

/// Bytes as a file; and as the Exif data of a JPEG, so that what is inside is reached.
pub(crate) fn pictures(data: &[u8]) {
    read(data);
    if let Ok(length) = u16::try_from(data.len() + 8) {
        let mut jpeg = vec![0xFF, 0xD8, 0xFF, 0xE1];
        jpeg.extend(length.to_be_bytes());
        jpeg.extend(b"Exif\0\0");
        jpeg.extend(data);
        read(&jpeg);
    }
}

fn read(file: &[u8]) {
    match kitlore_photos::Picture::from_reader("t.jpg".as_ref(), Cursor::new(file)) {
        Ok(picture) => drop(format!("{picture:?}")),
        Err(problem) => assert!(!problem.code.is_empty() && !problem.message().is_empty()),
    }
}
