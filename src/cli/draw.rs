//! `oddpot knowledge draw`: the fault tree as a picture.

use std::collections::BTreeMap;
use std::path::PathBuf;

use serde_json::json;

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::{named, output};
use facts::knowledge::Knowledge;
use facts::knowledge::graph::{KnowledgeGraph, Node};
use judge::diagnosis::{Assessment, diagnose};
use measure::named_enum;
use pages::report::figure::svg;
use pages::report::pdf::{self, Paper};
use pages::report::{fault_tree, fault_trees};

named_enum! {
    /// Forms of the picture.
    Format, "format" {
        /// The graph with the tests, for Graphviz.
        Dot = "dot",
        /// A picture for a screen.
        Svg = "svg",
        /// For paper.
        Pdf = "pdf",
        /// For a terminal.
        Text = "text",
    }
}

/// Width of the picture in points.
const WIDTH: f64 = 720.0;

/// Draw the fault tree with the tests that speak to each cause
///
/// The whole tree, or what is under one group. With a job its groups and causes have the shares
/// that the job gives them now, as bars and figures. `dot` is for Graphviz and has the tests and
/// what they need as a graph; the other forms need no other program.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot knowledge draw --format svg -o tree.svg
  oddpot knowledge draw fit --format text
  oddpot knowledge draw --job van --format pdf -o van-tree.pdf")]
pub(super) struct Args {
    /// Id of a group; without it all
    group: Option<String>,
    /// Job whose shares are laid over the tree: a name in the store or a path
    #[arg(long, value_name = "JOB")]
    job: Option<String>,
    /// Form [default: that of the file's ending, else dot]
    #[arg(long, value_parser = named::<Format>(Format::NAMES))]
    format: Option<Format>,
    /// Size of paper for PDF
    #[arg(long, default_value = "a4", value_parser = named::<Paper>(Paper::NAMES))]
    paper: Paper,
    /// File to write instead of standard output; the ending .dot, .svg, .pdf or .txt says the form
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long, requires = "output")]
    force: bool,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let format = output::form(args.format, args.output.as_deref(), &FORMS)?;
    let (knowledge, timeline) = match &args.job {
        None => (context.knowledge()?, None),
        Some(job) => {
            let view = context.view(job)?;
            (view.knowledge, Some(view.timeline))
        }
    };
    let group = match &args.group {
        None => None,
        Some(id) => Some(find(&knowledge, id)?),
    };
    let assessment = timeline.map(|timeline| diagnose(&knowledge, &timeline).assessment);
    let bytes = drawn(&knowledge, group, assessment.as_ref(), (format, args.paper), context);
    if let Some(path) = &args.output {
        output::write(path, &bytes, args.force)?;
        let said = format!("wrote {}", path.display());
        let document = json!({
            "ok": true, "said": said, "format": format, "file": path.display().to_string(),
        });
        return Ok(Answer::new(said, document));
    }
    super::card::on_output(context, bytes, format == Format::Pdf, |text| {
        let name = if format == Format::Dot { "graph" } else { "picture" };
        json!({name: text})
    })
}

const FORMS: output::Forms<'static, Format> = output::Forms {
    usual: Format::Dot,
    endings: &[("gv", Format::Dot), ("txt", Format::Text)],
    what: "this picture",
    named: ".dot, .svg, .pdf or .txt",
};

fn find(knowledge: &Knowledge, id: &str) -> Result<usize, Failure> {
    let ids = || knowledge.groups.iter().map(|group| group.id.as_str());
    ids().position(|known| known == id).ok_or_else(|| Failure::unknown("group", id, ids()))
}

fn drawn(
    knowledge: &Knowledge,
    group: Option<usize>,
    assessment: Option<&Assessment>,
    (format, paper): (Format, Paper),
    context: &Context,
) -> Vec<u8> {
    match format {
        Format::Dot => {
            let shares = assessment.map_or_else(BTreeMap::new, |a| shares(knowledge, a));
            KnowledgeGraph::of(knowledge).to_dot(group, &shares).into_bytes()
        }
        Format::Svg => svg::file(&fault_tree(knowledge, group, assessment), WIDTH).into_bytes(),
        Format::Pdf => {
            let whole = fault_tree(knowledge, group, assessment);
            let parts = match group {
                Some(_) => vec![whole.clone()],
                None => fault_trees(knowledge, assessment),
            };
            let pictures: Vec<_> =
                parts.iter().map(|part| (part.told(), part.draw(WIDTH))).collect();
            pdf::album(&whole.title, &pictures, paper)
        }
        Format::Text => {
            let figure = fault_tree(knowledge, group, assessment);
            let mut lines = vec![figure.title.clone()];
            lines.extend(figure.terminal(context.width));
            (lines.join("\n") + "\n").into_bytes()
        }
    }
}

/// The share of every group and cause.
fn shares(knowledge: &Knowledge, assessment: &Assessment) -> BTreeMap<Node, f64> {
    let groups = assessment.groups.iter().map(|&(group, share)| (Node::Group(group), share));
    let causes = (0..knowledge.causes.len())
        .map(|cause| (Node::Cause(cause), assessment.cause_share(knowledge, cause)));
    groups.chain(causes).collect()
}
