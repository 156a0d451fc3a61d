//! Photos on paper: which fit, how large, and as objects of the file.
//!
//! A JPEG goes in as it is and is turned by how it is placed; it must not be changed.

use pdf_writer::{Content, Filter, Finish, Name, Pdf, Ref};

use super::super::doc::{Image, Photograph};
use super::super::figure::Picture;
use super::tags::Tags;
use super::write::real;
use crate::photo::{Colours, Raster, raster};

/// Height of a photo on paper at most, points.
pub(super) const HIGHEST: f64 = 190.0;

/// Pages, the photos on them and what everything on them is.
pub(super) struct Sheets {
    pub(super) pages: Vec<Picture>,
    pub(super) photos: Vec<Placed>,
    pub(super) tags: Tags,
}

/// A photo in its place: from the left and the top of a page, points.
pub(super) struct Placed {
    pub(super) page: usize,
    pub(super) at: (f64, f64),
    pub(super) size: (f64, f64),
    pub(super) raster: Raster,
    /// What it is among what is read aloud.
    pub(super) element: usize,
}

/// A photo that is in the document itself, as paper takes it.
pub(super) fn taken(photo: &Photograph) -> Option<Raster> {
    match &photo.image {
        Image::Inside { bytes, .. } => raster(bytes),
        Image::At(_) => None,
    }
}

/// Its width and height on paper, within those.
pub(super) fn within(raster: &Raster, (wide, high): (f64, f64)) -> (f64, f64) {
    let (width, height) = (f64::from(raster.width.max(1)), f64::from(raster.height.max(1)));
    let (width, height) = if raster.way >= 5 { (height, width) } else { (width, height) };
    let scale = (wide / width).min(high / height);
    (width * scale, height * scale)
}

/// The name of a photo on its pages.
pub(super) fn name(number: usize) -> String {
    format!("P{number}")
}

/// Writes a photo as an object.
pub(super) fn embed(pdf: &mut Pdf, id: Ref, raster: &Raster) {
    let side = |side: u32| i32::try_from(side).unwrap_or(i32::MAX);
    let mut image = pdf.image_xobject(id, &raster.bytes);
    image.filter(if raster.jpeg { Filter::DctDecode } else { Filter::FlateDecode });
    image.width(side(raster.width)).height(side(raster.height));
    match &raster.colours {
        Colours::Grey => image.color_space().device_gray(),
        Colours::Rgb => image.color_space().device_rgb(),
        Colours::Cmyk { inverted } => {
            image.color_space().device_cmyk();
            if *inverted {
                image.decode([1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0]);
            }
        }
        Colours::List(list) => {
            let count = i32::try_from(list.len() / 3).unwrap_or(256);
            image.color_space().indexed(Name(b"DeviceRGB"), count - 1, list);
        }
    }
    image.bits_per_component(i32::from(raster.bits));
    image.finish();
}

/// Draws a photo, turned as it is to be seen; `high` is the height of the page.
pub(super) fn draw(out: &mut Content, number: usize, placed: &Placed, high: f64) {
    let ((x, top), (w, h)) = (placed.at, placed.size);
    let y = high - top - h;
    out.save_state();
    out.transform(turned(placed.raster.way, (x, y), (w, h)).map(real));
    out.x_object(Name(name(number).as_bytes()));
    out.restore_state();
}

/// How the square in which a picture is drawn comes to lie; which way up by what cameras say, 1 to 8.
fn turned(way: u8, (x, y): (f64, f64), (w, h): (f64, f64)) -> [f64; 6] {
    match way {
        2 => [-w, 0.0, 0.0, h, x + w, y],
        3 => [-w, 0.0, 0.0, -h, x + w, y + h],
        4 => [w, 0.0, 0.0, -h, x, y + h],
        5 => [0.0, -h, -w, 0.0, x + w, y + h],
        6 => [0.0, -h, w, 0.0, x, y + h],
        7 => [0.0, h, w, 0.0, x, y],
        8 => [0.0, h, -w, 0.0, x + w, y],
        _ => [w, 0.0, 0.0, h, x, y],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where the first element of the first row comes to lie, and the last one of it.
    #[test]
    fn a_picture_is_the_way_up_that_the_camera_says() {
        let seen = |way, (u, v): (f64, f64)| {
            let by = turned(way, (0.0, 0.0), (4.0, 3.0));
            (by[0] * u + by[2] * v + by[4], by[1] * u + by[3] * v + by[5])
        };
        let (left, right, top, bottom) = (0.0, 4.0, 3.0, 0.0);
        let corners = [
            (1, (left, top), (right, top)),
            (2, (right, top), (left, top)),
            (3, (right, bottom), (left, bottom)),
            (4, (left, bottom), (right, bottom)),
            (5, (left, top), (left, bottom)),
            (6, (right, top), (right, bottom)),
            (7, (right, bottom), (right, top)),
            (8, (left, bottom), (left, top)),
        ];
        for (way, first, last) in corners {
            assert_eq!((seen(way, (0.0, 1.0)), seen(way, (1.0, 1.0))), (first, last), "{way}");
        }
    }
}
