//! Pictures, photos and drawings below what is on the page already.

use super::super::doc::Photograph;
use super::super::figure::{Chart, Figure, Look, Picture, WIDTH, font};
use super::flow::{Flow, GAP, GUTTER, LEADING, TEXT};
use super::photos::{HIGHEST, Placed, taken, within};
use super::tags::Role;
use crate::photo::Raster;
use measure::number::real;

impl Flow {
    /// A picture as it is drawn here, and how much it shrinks.
    pub(super) fn picture(&self, figure: &Figure, alone: bool) -> (Picture, f64) {
        let wide = (self.width() - GUTTER) / 2.0;
        let scale = wide / WIDTH;
        // Alone, what gains by it takes the whole width.
        let whole = alone
            && matches!(figure.chart, Chart::Branches(_) | Chart::Trace(_) | Chart::Levels(_));
        let picture = figure.draw(if whole { self.width() / scale } else { WIDTH });
        // A very high one shrinks to the page.
        let scale = scale.min(self.high() / picture.height.max(1.0));
        (picture, scale)
    }

    /// Puts a picture down; `told` is what is said of it to who cannot see it.
    pub(super) fn picture_at(
        &mut self,
        told: &str,
        picture: &Picture,
        scale: f64,
        (x, y): (f64, f64),
    ) {
        let size = [x, y, picture.width * scale, picture.height * scale];
        self.tagged(Role::Figure(told.to_owned(), size), |flow| {
            let marks = picture.marks.iter().map(|mark| mark.placed(scale, x, y));
            flow.page().marks.extend(marks);
        });
    }

    /// Two columns, each picture in the one that is filled less.
    pub(super) fn figures(&mut self, figures: &[Figure]) {
        let wide = (self.width() - GUTTER) / 2.0;
        let mut filled = [self.y; 2];
        for figure in figures {
            let (picture, scale) = self.picture(figure, figures.len() == 1);
            let high = picture.height * scale;
            let column = usize::from(filled[1] < filled[0]);
            self.y = filled[column];
            if self.need(high) {
                filled = [self.y; 2];
            }
            let column = usize::from(filled[1] < filled[0]);
            let x = Self::LEFT + if column == 1 { wide + GUTTER } else { 0.0 };
            let y = filled[column];
            self.picture_at(&figure.told(), &picture, scale, (x, y));
            filled[column] += high + GAP;
        }
        self.y = filled[0].max(filled[1]);
    }

    /// Photos two beside each other with what they are of below; a line in the place of one that paper does not
    /// take.
    pub(super) fn photos(&mut self, photos: &[Photograph]) {
        let wide = (self.width() - GUTTER) / 2.0;
        let look = Look::new(TEXT);
        let (shown, others): (Vec<_>, Vec<_>) = photos
            .iter()
            .map(|photo| (photo, taken(photo)))
            .partition(|(_, taken)| taken.is_some());
        let shown: Vec<(&Photograph, Raster)> =
            shown.into_iter().filter_map(|(photo, taken)| Some((photo, taken?))).collect();
        for pair in shown.chunks(2) {
            let lines = |photo: &Photograph| {
                font::wrap(&font::shown(&photo.about), wide, TEXT, look.weight)
            };
            let sizes: Vec<(f64, f64)> =
                pair.iter().map(|(_, raster)| within(raster, (wide, HIGHEST))).collect();
            let high = sizes.iter().map(|size| size.1).fold(0.0, f64::max);
            let most = pair.iter().map(|(photo, _)| lines(photo).len()).max().unwrap_or(0);
            let below = real(most) * TEXT * LEADING;
            self.need((high + below + 2.0 * GAP).min(self.high()));
            let top = self.y;
            for ((photo, raster), (column, size)) in
                pair.iter().zip((0..).map(f64::from).zip(sizes))
            {
                let x = Self::LEFT + column * (wide + GUTTER);
                let page = self.pages.len().saturating_sub(1);
                let told = "Photo; what it is of follows.".to_owned();
                self.begin(Role::Figure(told, [x, top, size.0, size.1]));
                let (at, raster, element) = ((x, top), raster.clone(), self.tags.last());
                self.end();
                self.photos.push(Placed { page, at, size, raster, element });
                self.y = top + high + 2.0;
                self.tagged(Role::Para, |flow| {
                    for line in lines(photo) {
                        flow.put(x, &line, look);
                        flow.y += TEXT * LEADING;
                    }
                });
            }
            self.y = top + high + below + 2.0 * GAP;
        }
        for (photo, _) in others {
            let about = format!("{} (this photo is not on paper: see the page)", photo.about);
            self.tagged(Role::Para, |flow| flow.lines(&about, 0.0, look));
        }
    }

    /// Lines drawn with characters: each on its own cell, since the typeface is no typewriter's.
    pub(super) fn drawing(&mut self, lines: &[String]) {
        let widest = lines.iter().map(|line| line.chars().count()).max().unwrap_or(1).max(1);
        let most = self.width() / real(widest);
        let cell = most.min(TEXT * 0.62);
        let look = Look::new(cell / 0.62).middle();
        let deep = real(lines.len()) * look.size * LEADING;
        let place = [Self::LEFT, self.y, real(widest) * cell, deep];
        self.begin(Role::Figure("A picture drawn with characters.".to_owned(), place));
        for line in lines {
            self.need(look.size * LEADING);
            let mut x = Self::LEFT + cell / 2.0;
            for c in line.chars() {
                self.put(x, c.encode_utf8(&mut [0; 4]), look);
                x += cell;
            }
            self.y += look.size * LEADING;
        }
        self.end();
    }
}
