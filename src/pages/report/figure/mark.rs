//! The few marks that every picture and every printed page is made of.

use super::font::Weight;

/// A shade. There are few, so that grey print tells them apart; none means anything by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Text and outlines.
    Black,
    /// Text that is less important; still easy to read on white.
    Grey,
    /// Rules and thin lines.
    Rule,
    /// Areas behind marks and text.
    Pale,
    /// What asks to be noticed, always beside a word that says so.
    Alert,
    /// Paper.
    White,
}

impl Ink {
    /// Red, green and blue from 0 to 255.
    #[must_use]
    pub fn rgb(self) -> [u8; 3] {
        match self {
            Self::Black => [0x1c, 0x1c, 0x1c],
            Self::Grey => [0x55, 0x55, 0x55],
            Self::Rule => [0x9a, 0x9a, 0x9a],
            Self::Pale => [0xe4, 0xe4, 0xe4],
            Self::Alert => [0x9c, 0x2f, 0x00],
            Self::White => [0xff, 0xff, 0xff],
        }
    }

    /// As `#rrggbb`.
    #[must_use]
    pub fn hex(self) -> String {
        let [r, g, b] = self.rgb();
        format!("#{r:02x}{g:02x}{b:02x}")
    }
}

/// A line's shade, thickness and whether it is broken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// Shade.
    pub ink: Ink,
    /// Thickness in points.
    pub width: f64,
    /// Broken into dashes.
    pub dashed: bool,
}

impl Stroke {
    /// An unbroken line.
    #[must_use]
    pub fn solid(ink: Ink, width: f64) -> Self {
        Self { ink, width, dashed: false }
    }

    /// A broken line.
    #[must_use]
    pub fn dashed(ink: Ink, width: f64) -> Self {
        Self { ink, width, dashed: true }
    }
}

/// Which point of a text its position is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Its left end.
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

/// A mark. Lengths are in points, x to the right, y downwards.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// A rectangle.
    Rect {
        /// Left edge.
        x: f64,
        /// Upper edge.
        y: f64,
        /// Width.
        w: f64,
        /// Height.
        h: f64,
        /// Inside.
        fill: Option<Ink>,
        /// Outline.
        line: Option<Stroke>,
    },
    /// A circle.
    Circle {
        /// Middle.
        x: f64,
        /// Middle.
        y: f64,
        /// Radius.
        r: f64,
        /// Inside.
        fill: Option<Ink>,
        /// Outline.
        line: Option<Stroke>,
    },
    /// A line through points.
    Line {
        /// Two points or more.
        points: Vec<(f64, f64)>,
        /// How it looks.
        stroke: Stroke,
    },
    /// A closed area.
    Area {
        /// Three points or more.
        points: Vec<(f64, f64)>,
        /// Inside.
        fill: Ink,
    },
    /// A text on one line.
    Text {
        /// Where its anchor is.
        x: f64,
        /// Its base line.
        y: f64,
        /// What it says; harmless already.
        text: String,
        /// Height of the type.
        size: f64,
        /// Regular or bold.
        weight: Weight,
        /// Which point of it stands at `x`.
        anchor: Anchor,
        /// Shade.
        ink: Ink,
    },
}

impl Mark {
    /// The mark at another size and place: first scaled about the origin, then moved.
    #[must_use]
    pub fn placed(&self, scale: f64, dx: f64, dy: f64) -> Self {
        let px = |x: f64| x * scale + dx;
        let py = |y: f64| y * scale + dy;
        let thin = |s: Stroke| Stroke { width: s.width * scale, ..s };
        match self {
            Self::Rect { x, y, w, h, fill, line } => Self::Rect {
                x: px(*x),
                y: py(*y),
                w: w * scale,
                h: h * scale,
                fill: *fill,
                line: line.map(thin),
            },
            Self::Circle { x, y, r, fill, line } => Self::Circle {
                x: px(*x),
                y: py(*y),
                r: r * scale,
                fill: *fill,
                line: line.map(thin),
            },
            Self::Line { points, stroke } => Self::Line {
                points: points.iter().map(|&(x, y)| (px(x), py(y))).collect(),
                stroke: thin(*stroke),
            },
            Self::Area { points, fill } => Self::Area {
                points: points.iter().map(|&(x, y)| (px(x), py(y))).collect(),
                fill: *fill,
            },
            Self::Text { x, y, text, size, weight, anchor, ink } => Self::Text {
                x: px(*x),
                y: py(*y),
                text: text.clone(),
                size: size * scale,
                weight: *weight,
                anchor: *anchor,
                ink: *ink,
            },
        }
    }
}

/// Marks in a frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Width in points.
    pub width: f64,
    /// Height in points.
    pub height: f64,
    /// From back to front.
    pub marks: Vec<Mark>,
}

impl Picture {
    /// An empty frame; its height grows with what is drawn.
    #[must_use]
    pub fn new(width: f64) -> Self {
        Self { width, height: 0.0, marks: Vec::new() }
    }

    /// Adds a mark.
    pub fn add(&mut self, mark: Mark) {
        self.marks.push(mark);
    }

    /// Adds a straight line.
    pub fn line(&mut self, from: (f64, f64), to: (f64, f64), stroke: Stroke) {
        self.add(Mark::Line { points: vec![from, to], stroke });
    }

    /// Adds a filled rectangle.
    pub fn fill(&mut self, (x, y): (f64, f64), (w, h): (f64, f64), ink: Ink) {
        self.add(Mark::Rect { x, y, w, h, fill: Some(ink), line: None });
    }

    /// Adds an outlined rectangle.
    pub fn frame(
        &mut self,
        (x, y): (f64, f64),
        (w, h): (f64, f64),
        fill: Option<Ink>,
        stroke: Stroke,
    ) {
        self.add(Mark::Rect { x, y, w, h, fill, line: Some(stroke) });
    }

    /// Adds a text.
    pub fn text(&mut self, (x, y): (f64, f64), text: impl Into<String>, look: Look) {
        let text = super::font::shown(&text.into());
        if text.is_empty() {
            return;
        }
        let Look { size, weight, anchor, ink } = look;
        self.add(Mark::Text { x, y, text, size, weight, anchor, ink });
    }

    /// Adds an arrow head that points along the way from one point to another.
    pub fn head(&mut self, from: (f64, f64), to: (f64, f64), ink: Ink) {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let length = dx.hypot(dy).max(1e-6);
        let (ux, uy) = (dx / length, dy / length);
        let (long, half) = (6.0, 2.6);
        let base = (to.0 - ux * long, to.1 - uy * long);
        let points = vec![
            to,
            (base.0 - uy * half, base.1 + ux * half),
            (base.0 + uy * half, base.1 - ux * half),
        ];
        self.add(Mark::Area { points, fill: ink });
    }
}

/// How a text looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// Height of the type.
    pub size: f64,
    /// Regular or bold.
    pub weight: Weight,
    /// Which point of it stands at its position.
    pub anchor: Anchor,
    /// Shade.
    pub ink: Ink,
}

impl Look {
    /// Plain text from its left end.
    #[must_use]
    pub fn new(size: f64) -> Self {
        Self { size, weight: Weight::Regular, anchor: Anchor::Start, ink: Ink::Black }
    }

    /// Bold.
    #[must_use]
    pub fn bold(self) -> Self {
        Self { weight: Weight::Bold, ..self }
    }

    /// Less important.
    #[must_use]
    pub fn grey(self) -> Self {
        Self { ink: Ink::Grey, ..self }
    }

    /// To be noticed.
    #[must_use]
    pub fn alert(self) -> Self {
        Self { ink: Ink::Alert, ..self }
    }

    /// About its middle.
    #[must_use]
    pub fn middle(self) -> Self {
        Self { anchor: Anchor::Middle, ..self }
    }

    /// Up to its right end.
    #[must_use]
    pub fn end(self) -> Self {
        Self { anchor: Anchor::End, ..self }
    }
}
