//! Judged parts as `JUnit` XML: a case a part and requirement.
//!
//! There is no standard; this keeps to the elements and attributes that the XSD of the
//! Jenkins xUnit plugin knows (`junit-10.xsd`, which the source archive of pytest
//! carries), and the tests validate against it. Times are left out: the same parts give
//! the same bytes.

use crate::checks::judged::{CaseCounts, Demands, Judged, failure};
use crate::words::printable;
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};
use std::io::{self, Write};

/// Name of the case of a part of which nothing is required, or that could not be read.
const READ: &str = "can be read";

/// Writes a report part by part.
pub struct Report<'a, W: Write> {
    xml: Writer<W>,
    demands: &'a Demands,
}

impl<'a, W: Write> Report<'a, W> {
    /// Begins a report on as many cases as `tally` says.
    ///
    /// # Errors
    /// `to` cannot be written.
    pub fn begin(to: W, demands: &'a Demands, tally: &CaseCounts) -> io::Result<Self> {
        let mut xml = Writer::new_with_indent(to, b' ', 1);
        xml.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
        for name in ["testsuites", "testsuite"] {
            let mut open = BytesStart::new(name);
            open.push_attribute(("name", "wayup"));
            open.push_attribute(("tests", tally.cases.to_string().as_str()));
            open.push_attribute(("failures", tally.failed.to_string().as_str()));
            open.push_attribute(("errors", tally.unread.to_string().as_str()));
            xml.write_event(Event::Start(open))?;
        }
        Ok(Self { xml, demands })
    }

    /// Writes the cases of one part.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn part(&mut self, judged: &Judged) -> io::Result<()> {
        match &judged.result {
            Err(why) => self.case(&judged.path, READ, Some(("error", "unreadable", why))),
            Ok(findings) if findings.is_empty() => self.case(&judged.path, READ, None),
            Ok(findings) => {
                let demands = self.demands;
                for (requirement, finding) in demands.requirements.iter().zip(findings) {
                    let why = failure(requirement, finding, demands.subject);
                    let fault = why.as_deref().map(|w| ("failure", "requirement", w));
                    self.case(&judged.path, &requirement.text, fault)?;
                }
                Ok(())
            }
        }
    }

    /// One case; `fault` is the element, its type and its words.
    fn case(
        &mut self,
        path: &str,
        name: &str,
        fault: Option<(&str, &str, &str)>,
    ) -> io::Result<()> {
        let (path, name) = (clean(path), clean(name));
        let place = [("classname", path.as_str()), ("name", name.as_str())];
        let case = self.xml.create_element("testcase").with_attributes(place);
        let Some((element, kind, why)) = fault else {
            return case.write_empty().map(drop);
        };
        let why = clean(why);
        let inner = |xml: &mut Writer<W>| {
            xml.create_element(element)
                .with_attributes([("type", kind), ("message", why.as_str())])
                .write_text_content(BytesText::new(&why))
                .map(drop)
        };
        case.write_inner_content(inner).map(drop)
    }

    /// Ends the report.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn end(mut self) -> io::Result<()> {
        for name in ["testsuite", "testsuites"] {
            self.xml.write_event(Event::End(BytesEnd::new(name)))?;
        }
        let mut to = self.xml.into_inner();
        to.write_all(b"\n")?;
        to.flush()
    }
}

/// Text that XML 1.0 can hold (its production 2, `Char`).
fn clean(text: &str) -> String {
    printable(text).replace(['\u{fffe}', '\u{ffff}'], "\u{fffd}")
}

#[cfg(test)]
mod tests {
    use crate::checks::judged::tests::{demands, records};
    use crate::checks::junit::*;
    use crate::checks::require::Subject;

    fn report(demands: &Demands) -> String {
        let parts = records().map(|r| Judged::new(&r, demands));
        let mut tally = CaseCounts::default();
        for part in &parts {
            tally.add(part);
        }
        let mut out = Vec::new();
        let mut report = Report::begin(&mut out, demands, &tally).expect("memory");
        for part in &parts {
            report.part(part).expect("memory");
        }
        report.end().expect("memory");
        String::from_utf8(out).expect("UTF-8")
    }

    #[test]
    fn a_case_a_part_and_requirement() {
        let wanted = r#"<?xml version="1.0" encoding="UTF-8"?>
<testsuites name="wayup" tests="5" failures="1" errors="1">
 <testsuite name="wayup" tests="5" failures="1" errors="1">
  <testcase classname="parts/a &amp; b.stl" name="support_volume_mm3 &lt; 500"/>
  <testcase classname="parts/a &amp; b.stl" name="height_mm &lt;= 2.5 cm"/>
  <testcase classname="parts/&lt;odd &quot;name&quot;&gt;\u{7}.stl" name="support_volume_mm3 &lt; 500">
   <failure type="requirement" message="the best pose misses &apos;support_volume_mm3 &lt; 500&apos;: support_volume_mm3 is 812.5">the best pose misses &apos;support_volume_mm3 &lt; 500&apos;: support_volume_mm3 is 812.5</failure>
  </testcase>
  <testcase classname="parts/&lt;odd &quot;name&quot;&gt;\u{7}.stl" name="height_mm &lt;= 2.5 cm"/>
  <testcase classname="/parts/torn.stl" name="can be read">
   <error type="unreadable" message="is truncated at byte 84">is truncated at byte 84</error>
  </testcase>
 </testsuite>
</testsuites>
"#;
        assert_eq!(report(&demands(Subject::Winner)), wanted);
    }

    #[test]
    fn without_requirements_reading_is_the_case() {
        let text = report(&Demands::default());
        assert!(
            text.contains("tests=\"3\" failures=\"0\" errors=\"1\""),
            "{text}"
        );
        assert_eq!(text.matches("name=\"can be read\"").count(), 3);
    }
}
