//! Tiny pictures of invented bodies, written with real Exif structure (CIPA DC-008, TIFF 6.0).

use kitlore_photos::Picture;

/// What a picture is to say about itself; an empty text is a missing field.
#[derive(Debug, Clone, Default)]
pub struct Taken {
    /// `Make`.
    pub make: String,
    /// `Model`.
    pub model: String,
    /// `BodySerialNumber`.
    pub serial: String,
    /// `LensModel`.
    pub lens: String,
    /// `LensSerialNumber`.
    pub lens_serial: String,
    /// `DateTimeOriginal`, as Exif writes it: `2026:02:07 09:12:03`.
    pub time: String,
    /// `SubSecTimeOriginal`.
    pub fraction: String,
    /// `OffsetTimeOriginal`, such as `+01:00`.
    pub offset: String,
    /// `Temperature` in tenths of a degree.
    pub temperature: Option<i32>,
    /// Whether numbers are written with their lowest byte first.
    pub little: bool,
}

const ASCII: u16 = 2;
const LONG: u16 = 4;
const SIGNED_RATIONAL: u16 = 10;

struct Field {
    tag: u16,
    form: u16,
    value: Vec<u8>,
}

impl Taken {
    /// A picture that says what this one says, but for what was measured.
    pub fn of(picture: &Picture) -> Self {
        let time = |form: &str| picture.taken.map(|taken| taken.format(form).to_string()).unwrap_or_default();
        Self {
            make: picture.body.make.clone(),
            model: picture.body.model.clone(),
            serial: picture.body.serial.clone(),
            lens: picture.lens.model.clone(),
            lens_serial: picture.lens.serial.clone(),
            time: time("%Y:%m:%d %H:%M:%S"),
            fraction: time("%.f").trim_start_matches('.').to_owned(),
            offset: picture.offset.map(|offset| offset.to_string()).unwrap_or_default(),
            ..Self::default()
        }
    }

    /// The Exif data: a TIFF without a picture in it.
    pub fn tiff(&self) -> Vec<u8> {
        let u32 = |value: u32| if self.little { value.to_le_bytes() } else { value.to_be_bytes() };
        let text = |tag, text: &str| Field { tag, form: ASCII, value: [text.as_bytes(), b"\0"].concat() };
        let texts = |list: &[(u16, &str)]| -> Vec<Field> {
            list.iter().filter(|(_, value)| !value.is_empty()).map(|(tag, value)| text(*tag, value)).collect()
        };
        let mut exif = texts(&[
            (0x9003, &self.time),
            (0x9011, &self.offset),
            (0x9291, &self.fraction),
            (0xA431, &self.serial),
            (0xA434, &self.lens),
            (0xA435, &self.lens_serial),
        ]);
        if let Some(tenths) = self.temperature {
            let value = [u32(tenths.cast_unsigned()), u32(10)].concat();
            exif.insert(
                exif.partition_point(|field| field.tag < 0x9400),
                Field { tag: 0x9400, form: SIGNED_RATIONAL, value },
            );
        }
        let mut picture = texts(&[(0x010F, &self.make), (0x0110, &self.model)]);
        picture.push(Field { tag: 0x8769, form: LONG, value: Vec::new() });
        let first_size = size_of(&picture);
        if let Some(pointer) = picture.last_mut() {
            pointer.value = u32(8 + first_size).to_vec();
        }
        let mut file = if self.little { b"II\x2A\0".to_vec() } else { b"MM\0\x2A".to_vec() };
        file.extend(u32(8));
        self.directory(&picture, &mut file);
        self.directory(&exif, &mut file);
        file
    }

    /// A directory and after it its values.
    fn directory(&self, fields: &[Field], file: &mut Vec<u8>) {
        let u16 = |value: u16| if self.little { value.to_le_bytes() } else { value.to_be_bytes() };
        let u32 = |value: usize| {
            if self.little { (value as u32).to_le_bytes() } else { (value as u32).to_be_bytes() }
        };
        let mut far = Vec::new();
        let far_at = file.len() + 2 + 12 * fields.len() + 4;
        file.extend(u16(fields.len() as u16));
        for field in fields {
            let count = match field.form {
                ASCII => field.value.len(),
                _ => 1,
            };
            file.extend(u16(field.tag));
            file.extend(u16(field.form));
            file.extend(u32(count));
            if field.value.len() > 4 {
                file.extend(u32(far_at + far.len()));
                far.extend(&field.value);
                // Values begin at even places.
                far.extend(vec![0; far.len() % 2]);
            } else {
                let mut value = field.value.clone();
                value.resize(4, 0);
                file.extend(value);
            }
        }
        file.extend([0; 4]);
        file.extend(far);
    }

    /// A whole JPEG of eight by eight grey points.
    pub fn jpeg(&self) -> Vec<u8> {
        let exif = [b"Exif\0\0", self.tiff().as_slice()].concat();
        let mut file = vec![0xFF, 0xD8];
        segment(&mut file, 0xE1, &exif);
        // One table of steps, one component, and codes for nothing but zeros: the middle grey.
        segment(&mut file, 0xDB, &[&[0][..], &[1; 64]].concat());
        segment(&mut file, 0xC0, &[8, 0, 8, 0, 8, 1, 1, 0x11, 0]);
        for table in [0x00, 0x10] {
            segment(&mut file, 0xC4, &[&[table, 1][..], &[0; 15], &[0]].concat());
        }
        segment(&mut file, 0xDA, &[1, 1, 0, 0, 63, 0]);
        file.extend([0x3F, 0xFF, 0xD9]);
        file
    }
}

fn size_of(fields: &[Field]) -> u32 {
    let far = fields.iter().filter(|field| field.value.len() > 4);
    let values: usize = far.map(|field| field.value.len().next_multiple_of(2)).sum();
    (2 + 12 * fields.len() + 4 + values) as u32
}

fn segment(file: &mut Vec<u8>, marker: u8, content: &[u8]) {
    file.extend([0xFF, marker]);
    file.extend((content.len() as u16 + 2).to_be_bytes());
    file.extend(content);
}
