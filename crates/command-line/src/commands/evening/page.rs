//! HTML as plain text, every word from outside escaped; nothing asks outside of the page.

/// A text with what HTML would take for its own made harmless.
pub fn escaped(text: &str) -> String {
    let one = |c: char| match c {
        '&' => "&amp;".to_string(),
        '<' => "&lt;".to_string(),
        '>' => "&gt;".to_string(),
        '"' => "&quot;".to_string(),
        '\'' => "&#39;".to_string(),
        c => c.to_string(),
    };
    text.chars().map(one).collect()
}

/// A text that is no longer than a page has room for.
pub fn short(text: &str, most_letters: usize) -> String {
    if text.chars().count() <= most_letters {
        return text.into();
    }
    let first: String = text.chars().take(most_letters).collect();
    format!("{} ...", first.trim_end())
}

/// An element with text in it.
pub fn with_text(tag: &str, text: &str) -> String {
    format!("<{tag}>{}</{tag}>\n", escaped(text))
}

/// A table; nothing without rows.
pub fn table(header: &[&str], rows: &[Vec<String>]) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let cells = |tag: &str, row: &mut dyn Iterator<Item = &str>| -> String {
        row.map(|c| format!("<{tag}>{}</{tag}>", escaped(c))).collect()
    };
    let mut html = String::from("<table>\n");
    if !header.is_empty() {
        html += &format!("<tr>{}</tr>\n", cells("th", &mut header.iter().copied()));
    }
    for row in rows {
        html += &format!("<tr>{}</tr>\n", cells("td", &mut row.iter().map(String::as_str)));
    }
    html + "</table>\n"
}

/// A list; nothing without items.
pub fn list<'t>(tag: &str, items: impl IntoIterator<Item = &'t str>) -> String {
    let inside: String = items.into_iter().map(|i| with_text("li", i)).collect();
    if inside.is_empty() { inside } else { format!("<{tag}>\n{inside}</{tag}>\n") }
}

/// A whole page: title, style and body.
pub fn page(title: &str, style: &str, body: &str) -> String {
    let title = escaped(title);
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>{title}</title>\n\
         <style>\n{style}</style>\n</head>\n<body>\n{body}</body>\n</html>\n"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_what_comes_from_a_file_is_text_alone() {
        let bad = "<script>alert('x')</script> & \"y\"";
        let safe = "&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt; &amp; &quot;y&quot;";
        assert_eq!(escaped(bad), safe);
        let row = vec![bad.to_string()];
        for html in [with_text("p", bad), table(&[bad], &[row]), list("ul", [bad]), page(bad, "", "")] {
            assert!(html.contains(safe) && !html.contains("<script"), "{html}");
        }
    }
}
