//! Mistakes in a rule text, with the text underlined.

use crate::screen::Host;
use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use kitlore::Diagnostics;
use kitlore::language::{Diagnostic, Severity, Sources, Span};

/// Writes every mistake to the messages.
pub(crate) fn mistakes(mistakes: &Diagnostics, host: &mut Host<'_>) {
    let text = all(&mistakes.list, &mistakes.sources, host.width, host.colour_err);
    host.say(text.trim_end());
}

/// Every mistake and doubt with its text underlined, then the number of mistakes.
pub fn all(list: &[Diagnostic], sources: &Sources, width: usize, colour: bool) -> String {
    let mut text = String::new();
    for diagnostic in list {
        text.push_str(&draw(diagnostic, sources, width, colour));
        text.push_str("\n\n");
    }
    let count = list.iter().filter(|diagnostic| diagnostic.severity == Severity::Error).count();
    text + &format!("{} in the rules\n", kitlore::render::counted(count, "mistake"))
}

/// One mistake or doubt, drawn.
pub(crate) fn draw(diagnostic: &Diagnostic, sources: &Sources, width: usize, colour: bool) -> String {
    let level = match diagnostic.severity {
        Severity::Error => Level::ERROR.with_name("mistake"),
        Severity::Doubt => Level::WARNING.with_name("doubt"),
    };
    let message = crate::screen::plain(&diagnostic.message);
    let name = |span: Span| sources.name(span).to_owned();
    let text = |span: Span| sources.get(span.source).map_or("", |source| &source.text);
    let range = |span: Span| span.start as usize..span.end as usize;
    let mut snippet = Snippet::source(text(diagnostic.span))
        .path(name(diagnostic.span))
        .annotation(AnnotationKind::Primary.span(range(diagnostic.span)));
    let mut group = Group::with_title(level.primary_title(format!("{message} [{}]", diagnostic.code)));
    let mut other = None;
    if let Some((span, what)) = &diagnostic.second {
        let annotation = AnnotationKind::Context.span(range(*span)).label(crate::screen::plain(what));
        if span.source == diagnostic.span.source {
            snippet = snippet.annotation(annotation);
        } else {
            other = Some(Snippet::source(text(*span)).path(name(*span)).annotation(annotation));
        }
    }
    group = group.element(snippet);
    if let Some(other) = other {
        group = group.element(other);
    }
    if let Some(help) = &diagnostic.help {
        group = group.element(Level::HELP.with_name("instead").message(crate::screen::plain(help)));
    }
    renderer(width, colour).render(&[group])
}

fn renderer(width: usize, colour: bool) -> Renderer {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    renderer.decor_style(DecorStyle::Ascii).term_width(width)
}
