//! The laid-out document as a PDF file.

use std::collections::HashMap;

use krilla::configure::{Accessibility, ConfigurationBuilder, PdfVersion};
use krilla::destination::XyzDestination;
use krilla::geom::Point;
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, Identifier, Node, SpanTag, TagGroup, TagTree};
use krilla::{Document, SerializeSettings};

use super::flow::{Child, Flow, Piece, Role, Tag};
use super::lettering::Type;
use super::{POINTS_PER_MM, marks};
use crate::Unwritable;

impl Flow {
    /// The file. `title` is what a reader's window shows; `about` describes the document in a line.
    ///
    /// # Errors
    /// Where the library that writes the file refuses it, which would be a fault of this program.
    pub(crate) fn into_pdf(mut self, title: &str, about: &str) -> Result<Vec<u8>, Unwritable> {
        self.finish();
        let unwritable = |what: String| Unwritable { title: title.to_owned(), what };
        let configuration = ConfigurationBuilder::new()
            .with_version(PdfVersion::Pdf17)
            .with_accessibility_validator(Accessibility::UA1)
            .finish()
            .map_err(|error| unwritable(format!("{error:?}")))?;
        let settings = SerializeSettings { configuration, ..SerializeSettings::default() };
        let mut document = Document::new_with(settings);
        document.set_metadata(
            Metadata::new()
                .title(title.to_owned())
                .description(about.to_owned())
                .language("en-GB".to_owned())
                .creator(format!("Tenunder {}", env!("CARGO_PKG_VERSION"))),
        );
        let (width, height) = self.paper.mm();
        let mut written: HashMap<(usize, usize), Identifier> = HashMap::new();
        let pages = std::mem::take(&mut self.pages);
        for (number, pieces) in pages.iter().enumerate() {
            let size = ((width * POINTS_PER_MM) as f32, (height * POINTS_PER_MM) as f32);
            let Some(settings) = PageSettings::from_wh(size.0, size.1) else {
                return Err(unwritable("the paper has no size".to_owned()));
            };
            let mut page = document.start_page_with(settings);
            let mut surface = page.surface();
            if let Some(words) = self.mark.clone() {
                surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::Watermark)));
                self.watermark(&mut surface, &words);
                surface.end_tagged();
            }
            for (place, placed) in pieces.iter().enumerate() {
                let tag = match (placed.role, &placed.piece) {
                    (Role::ForTheEye, _) => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
                    (Role::Of(_), Piece::Words(laid)) => {
                        ContentTag::Span(SpanTag::empty().with_actual_text(laid.meant.as_deref()))
                    }
                    (Role::Of(_), Piece::Marks(_)) => ContentTag::Other,
                };
                let identifier = surface.start_tagged(tag);
                match &placed.piece {
                    Piece::Words(laid) => self.lettering.draw(&mut surface, laid, placed.at_mm),
                    Piece::Marks(drawn) => marks::draw(&mut surface, &mut self.lettering, drawn, placed.at_mm),
                }
                surface.end_tagged();
                if placed.role != Role::ForTheEye {
                    written.insert((number, place), identifier);
                }
            }
            surface.finish();
            page.finish();
        }
        let mut tree = TagTree::new().with_lang(Some("en-GB".to_owned()));
        if let Some(group) = self.group(0, &mut written) {
            tree.push(group);
        }
        document.set_tag_tree(tree);
        document.set_outline(self.outline(title));
        document.finish().map_err(|error| unwritable(format!("{error:?}")))
    }

    /// A part with all that stands in it; none where nothing does.
    fn group(&self, number: usize, written: &mut HashMap<(usize, usize), Identifier>) -> Option<TagGroup> {
        let part = self.parts.get(number)?;
        let children: Vec<Node> = part
            .children
            .iter()
            .filter_map(|child| match child {
                Child::Part(inner) => self.group(*inner, written).map(Node::from),
                Child::Piece(page, piece) => written.remove(&(*page, *piece)).map(Node::from),
            })
            .collect();
        // An empty field of a table still holds its column.
        let holds = !children.is_empty() || matches!(part.tag, Tag::Cell | Tag::RowHead | Tag::ColumnHead);
        holds.then(|| TagGroup::with_children(part.tag.kind(), children))
    }

    fn outline(&self, title: &str) -> Outline {
        let mut outline = Outline::new();
        let mut any = false;
        for part in &self.parts {
            if let (Tag::Heading { title, .. }, Some((page, y_mm))) = (&part.tag, part.begins) {
                let to = XyzDestination::new(page, Point::from_xy(0.0, (y_mm * POINTS_PER_MM) as f32));
                outline.push_child(OutlineNode::new(title.clone(), to));
                any = true;
            }
        }
        if !any {
            let to = XyzDestination::new(0, Point::from_xy(0.0, 0.0));
            outline.push_child(OutlineNode::new(title.to_owned(), to));
        }
        outline
    }

    /// Large grey letters across the page.
    fn watermark(&mut self, surface: &mut krilla::surface::Surface<'_>, words: &str) {
        let (width, height) = self.paper.mm();
        let how = Type::words(90.0).bold();
        let laid = self.lettering.set(words, how, None, crate::Anchor::Start);
        let at = ((width - laid.width_mm) / 2.0, (height - laid.height_mm) / 2.0);
        self.lettering.outline(surface, &laid, at);
    }
}
