//! Pages of marks as a PDF file.
//!
//! What decorates is marked as such, all else as a piece of its element in `tags`. Of each typeface only the glyphs that are used go in, with their characters beside them so
//! that a reader can search. No time and no number of its own: the same pages, the same bytes.

use std::collections::BTreeMap;

use miniz_oxide::deflate::compress_to_vec_zlib;
use pdf_writer::types::{
    ArtifactAttachment, ArtifactType, CidFontType, FontFlags, SystemInfo, TabOrder, UnicodeCmap,
};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Settings, Str, TextStr};
use subsetter::{GlyphRemapper, subset};

use super::super::figure::font::{self, Weight};
use super::super::figure::{Anchor, Ink, Mark, Picture, Stroke};
use super::photos::{self, Placed, Sheets};
use super::tags::{self, Tags};

const CATALOG: Ref = Ref::new(1);
const PAGES: Ref = Ref::new(2);
const INFO: Ref = Ref::new(3);
/// Each typeface takes five objects from here on, then each page two.
const FONTS: i32 = 4;
const OF_A_FONT: i32 = 5;
const OF_A_PAGE: i32 = 2;

const SYSTEM: SystemInfo<'_> =
    SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };

/// Writes the file; one of `full_size` asks viewers not to scale it when they print.
#[must_use]
pub(super) fn file(title: &str, sheets: Sheets, full_size: bool) -> Vec<u8> {
    let Sheets { pages, photos: placed, mut tags } = sheets;
    let mut faces: BTreeMap<Weight, Used> = BTreeMap::new();
    for page in &pages {
        for mark in &page.marks {
            if let Mark::Text { text, weight, .. } = mark {
                let face = faces.entry(*weight).or_default();
                face.note(text, *weight);
                face.note(" ", *weight);
            }
        }
    }
    // Nobody reads the objects, and the tree of what is read aloud has hundreds.
    let mut pdf = Pdf::with_settings(Settings { pretty: false });
    let first_page = FONTS + OF_A_FONT * 2;
    let ids: Vec<Ref> =
        (0..).zip(&pages).map(|(n, _)| Ref::new(first_page + OF_A_PAGE * n)).collect();
    let count = i32::try_from(pages.len()).unwrap_or(i32::MAX);
    let own = first_page + OF_A_PAGE * count;
    let after = |number: usize| Ref::new(own.saturating_add(i32::try_from(number).unwrap_or(0)));
    let photo_id = after;
    let tree = after(placed.len());
    let mut catalog = pdf.catalog(CATALOG);
    catalog.pages(PAGES);
    catalog.lang(TextStr("en"));
    catalog.mark_info().marked(true);
    catalog.pair(tags::ROOT, tree);
    let mut preferences = catalog.viewer_preferences();
    preferences.display_doc_title(true);
    if full_size {
        preferences.pair(Name(b"PrintScaling"), Name(b"None"));
    }
    preferences.finish();
    catalog.finish();
    pdf.document_info(INFO).title(TextStr(title)).producer(TextStr("oddpot"));
    pdf.pages(PAGES).kids(ids.iter().copied()).count(count);
    for ((index, page), &id) in pages.iter().enumerate().zip(&ids) {
        let here: Vec<(usize, &Placed)> =
            placed.iter().enumerate().filter(|(_, photo)| photo.page == index).collect();
        let content_id = Ref::new(id.get() + 1);
        let mut object = pdf.page(id);
        object.parent(PAGES).media_box(Rect::new(0.0, 0.0, real(page.width), real(page.height)));
        object.contents(content_id);
        object.struct_parents(i32::try_from(index).unwrap_or(i32::MAX));
        object.tab_order(TabOrder::StructureOrder);
        let mut resources = object.resources();
        let mut fonts = resources.fonts();
        for &weight in faces.keys() {
            fonts.pair(name(weight), font_id(weight));
        }
        fonts.finish();
        if !here.is_empty() {
            let mut objects = resources.x_objects();
            for (number, _) in &here {
                objects.pair(Name(photos::name(*number).as_bytes()), photo_id(*number));
            }
            objects.finish();
        }
        resources.finish();
        object.finish();
        let content = content(index, page, &faces, &here, &mut tags);
        let content = compress_to_vec_zlib(&content, LEVEL);
        pdf.stream(content_id, &content).filter(Filter::FlateDecode);
    }
    for (number, photo) in placed.iter().enumerate() {
        photos::embed(&mut pdf, photo_id(number), &photo.raster);
    }
    let papers: Vec<(Ref, f64)> =
        ids.iter().copied().zip(pages.iter().map(|page| page.height)).collect();
    tags.write(&mut pdf, tree, &papers);
    for (weight, used) in &faces {
        embed(&mut pdf, *weight, used);
    }
    pdf.finish()
}

/// How hard streams are pressed together.
const LEVEL: u8 = 6;

/// The glyphs of a typeface that are used.
#[derive(Default)]
struct Used {
    remapper: GlyphRemapper,
    characters: BTreeMap<u16, char>,
}

impl Used {
    fn note(&mut self, text: &str, weight: Weight) {
        for c in text.chars() {
            let glyph = self.remapper.remap(weight.glyph(c).0);
            self.characters.entry(glyph).or_insert(c);
        }
    }

    fn encoded(&self, text: &str, weight: Weight) -> Vec<u8> {
        let glyph = |c| self.remapper.get(weight.glyph(c).0).unwrap_or(0);
        text.chars().flat_map(|c| glyph(c).to_be_bytes()).collect()
    }
}

fn name(weight: Weight) -> Name<'static> {
    match weight {
        Weight::Regular => Name(b"R"),
        Weight::Bold => Name(b"B"),
    }
}

/// The first object of a typeface.
fn font_id(weight: Weight) -> Ref {
    Ref::new(FONTS + OF_A_FONT * i32::from(weight as u8))
}

fn embed(pdf: &mut Pdf, weight: Weight, used: &Used) {
    let first = font_id(weight).get();
    let [cid, descriptor, cmap, data] = [1, 2, 3, 4].map(|n| Ref::new(first + n));
    let Some(face) = weight.face() else { return };
    // The built-in typefaces can be cut, as a test shows; whole they would do as well.
    let bytes = subset(weight.data(), 0, &used.remapper).unwrap_or_else(|_| weight.data().to_vec());
    let base = match weight {
        Weight::Regular => "ODDPOT+DejaVuSans",
        Weight::Bold => "ODDPOT+DejaVuSans-Bold",
    };
    let base = Name(base.as_bytes());
    pdf.type0_font(font_id(weight))
        .base_font(base)
        .encoding_predefined(Name(b"Identity-H"))
        .descendant_font(cid)
        .to_unicode(cmap);
    let scale = 1000.0 / f64::from(face.units_per_em());
    let milli = |value: i16| real(f64::from(value) * scale);
    let mut object = pdf.cid_font(cid);
    object.subtype(CidFontType::Type2).base_font(base).system_info(SYSTEM);
    object
        .font_descriptor(descriptor)
        .default_width(0.0)
        .cid_to_gid_map_predefined(Name(b"Identity"));
    let widths = used.remapper.remapped_gids();
    object
        .widths()
        .consecutive(0, widths.map(|glyph| real(weight.advance(ttf_parser::GlyphId(glyph)))));
    object.finish();
    let all = face.global_bounding_box();
    pdf.font_descriptor(descriptor)
        .name(base)
        .flags(FontFlags::SYMBOLIC)
        .bbox(Rect::new(milli(all.x_min), milli(all.y_min), milli(all.x_max), milli(all.y_max)))
        .italic_angle(0.0)
        .ascent(milli(face.ascender()))
        .descent(milli(face.descender()))
        .cap_height(milli(face.capital_height().unwrap_or(face.ascender())))
        .stem_v(if weight == Weight::Bold { 140.0 } else { 80.0 })
        .font_file2(data);
    let mut map = UnicodeCmap::new(Name(b"Custom"), SYSTEM);
    for (&glyph, &c) in &used.characters {
        map.pair(glyph, c);
    }
    pdf.cmap(cmap, &map.finish());
    let pressed = compress_to_vec_zlib(&bytes, LEVEL);
    let mut stream = pdf.stream(data, &pressed);
    stream.filter(Filter::FlateDecode);
    stream.pair(Name(b"Length1"), i32::try_from(bytes.len()).unwrap_or(i32::MAX));
}

/// The drawing of a page, each piece of it marked as part of its element.
fn content(
    number: usize,
    page: &Picture,
    faces: &BTreeMap<Weight, Used>,
    here: &[(usize, &Placed)],
    tags: &mut Tags,
) -> Vec<u8> {
    let mut out = Content::new();
    let mut piece = 0;
    for (photo, placed) in here {
        begin(&mut out, placed.element, (number, &mut piece), tags);
        photos::draw(&mut out, *photo, placed, page.height);
        out.end_marked_content();
    }
    let runs = tags.of(number).to_vec();
    for (index, run) in runs.iter().enumerate() {
        let to = runs.get(index + 1).map_or(page.marks.len(), |next| next.from);
        let marks = page.marks.get(run.from..to).unwrap_or_default();
        if marks.is_empty() {
            continue;
        }
        match run.element {
            Some(element) => begin(&mut out, element, (number, &mut piece), tags),
            None => decorates(&mut out, index + 1 == runs.len()),
        }
        draw(&mut out, page, marks, faces);
        out.end_marked_content();
    }
    out.finish().into_vec()
}

/// Begins a piece of an element.
fn begin(out: &mut Content, element: usize, (page, piece): (usize, &mut i32), tags: &mut Tags) {
    tags.piece(element, page, *piece);
    let kind = tags.elements[element].role.standard().to_name();
    out.begin_marked_content_with_properties(kind).properties().identify(*piece);
    *piece += 1;
}

/// Begins what only decorates; the foot of the page belongs to the paper.
fn decorates(out: &mut Content, foot: bool) {
    let mut mark = out.begin_marked_content_with_properties(Name(b"Artifact"));
    let mut artifact = mark.properties().artifact();
    if foot {
        artifact.kind(ArtifactType::Pagination).attached([ArtifactAttachment::Bottom]);
    } else {
        artifact.kind(ArtifactType::Layout);
    }
}

fn draw(out: &mut Content, page: &Picture, marks: &[Mark], faces: &BTreeMap<Weight, Used>) {
    let up = |down: f64| real(page.height - down);
    for (index, mark) in marks.iter().enumerate() {
        match mark {
            Mark::Rect { x, y: top, w, h, fill, line } => {
                let look = look(out, *fill, *line);
                out.rect(real(*x), up(top + h), real(*w), real(*h));
                paint(out, look);
            }
            Mark::Circle { x, y: middle, r, fill, line } => {
                let look = look(out, *fill, *line);
                circle(out, real(*x), up(*middle), real(*r));
                paint(out, look);
            }
            Mark::Line { points, stroke } => {
                let look = look(out, None, Some(*stroke));
                path(out, points, up);
                paint(out, look);
            }
            Mark::Area { points, fill } => {
                let look = look(out, Some(*fill), None);
                path(out, points, up);
                out.close_path();
                paint(out, look);
            }
            Mark::Text { x, y: base, text, size, weight, anchor, ink } => {
                let Some(used) = faces.get(weight) else { continue };
                let long = font::width(text, *size, *weight);
                let left = match anchor {
                    Anchor::Start => *x,
                    Anchor::Middle => x - long / 2.0,
                    Anchor::End => x - long,
                };
                out.begin_text().set_font(name(*weight), real(*size));
                let [r, g, b] = rgb(*ink);
                out.set_fill_rgb(r, g, b);
                out.next_line(real(left), up(*base));
                let mut glyphs = used.encoded(text, *weight);
                // Lines of one text are words apart also for who does not see them below each other.
                if matches!(marks.get(index + 1), Some(Mark::Text { .. })) {
                    glyphs.extend(used.encoded(" ", *weight));
                }
                out.show(Str(&glyphs)).end_text();
            }
        }
    }
}

/// Sets shades and line; says what is to be painted.
fn look(out: &mut Content, fill: Option<Ink>, line: Option<Stroke>) -> (bool, bool) {
    if let Some(ink) = fill {
        let [r, g, b] = rgb(ink);
        out.set_fill_rgb(r, g, b);
    }
    if let Some(stroke) = line {
        let [r, g, b] = rgb(stroke.ink);
        out.set_stroke_rgb(r, g, b).set_line_width(real(stroke.width));
        let dashes: &[f32] = if stroke.dashed { &[3.0, 2.0] } else { &[] };
        out.set_dash_pattern(dashes.iter().copied(), 0.0);
    }
    (fill.is_some(), line.is_some())
}

fn paint(out: &mut Content, (fill, line): (bool, bool)) {
    match (fill, line) {
        (true, true) => out.fill_nonzero_and_stroke(),
        (true, false) => out.fill_nonzero(),
        (false, true) => out.stroke(),
        (false, false) => out.end_path(),
    };
}

fn path(out: &mut Content, points: &[(f64, f64)], y: impl Fn(f64) -> f32) {
    for (index, &(px, py)) in points.iter().enumerate() {
        if index == 0 {
            out.move_to(real(px), y(py));
        } else {
            out.line_to(real(px), y(py));
        }
    }
}

/// Four curves that are a circle to a thousandth of its radius.
fn circle(out: &mut Content, x: f32, y: f32, r: f32) {
    let k = r * 0.5523;
    out.move_to(x + r, y);
    out.cubic_to(x + r, y + k, x + k, y + r, x, y + r);
    out.cubic_to(x - k, y + r, x - r, y + k, x - r, y);
    out.cubic_to(x - r, y - k, x - k, y - r, x, y - r);
    out.cubic_to(x + k, y - r, x + r, y - k, x + r, y);
    out.close_path();
}

fn rgb(ink: Ink) -> [f32; 3] {
    ink.rgb().map(|value| real(f64::from(value) / 255.0))
}

/// A length as the file takes it, to a hundredth.
#[expect(clippy::cast_possible_truncation, reason = "lengths on paper are small")]
pub(super) fn real(value: f64) -> f32 {
    ((value * 1000.0).round() / 1000.0) as f32
}
