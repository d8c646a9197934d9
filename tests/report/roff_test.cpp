#include "report/roff.h"

#include "catch.h"

using namespace vergeset::report;

TEST_CASE("text that a formatter would take for a command of its own is printed as it is") {
  CHECK(roff_literal(".so /etc/passwd\n'br\na\\fBb", true) ==
        ".RS 4\n.nf\n\\&.so /etc/passwd\n\\(aqbr\na\\efBb\n.fi\n.RE\n");
  CHECK(roff_of_markdown(".TH x\n", true) == "\\&.TH x\n");
}

TEST_CASE("an option can be copied out of a page: its dashes are no hyphens") {
  CHECK(roff_bold("--dry-run") == "\\fB\\-\\-dry\\-run\\fR");
  CHECK(roff_of_markdown("read-only, `--yes`, -5\n", true) == "read-only, \\fB\\-\\-yes\\fR, \\-5\n");
}

TEST_CASE("headings, lists, tables and blocks of markdown become those of a page") {
  CHECK(roff_of_markdown("## The files\ntext\n\n### Part\n", true) ==
        ".SH \"THE FILES\"\ntext\n.SS \"Part\"\n");
  CHECK(roff_of_markdown("*operate* with * and ? or *\n", true) == "\\fIoperate\\fR with * and ? or *\n");
  CHECK(roff_of_markdown("- one\n  goes on\n- two\n", true) ==
        ".IP \\(bu 2\none goes on\n.IP \\(bu 2\ntwo\n");
  CHECK(roff_of_markdown("| a | b |\n| --- | --- |\n| `x\\|y` | **z** |\n", true) ==
        ".TP\n\\fBx|y\\fR\n\\fBz\\fR\n");
  CHECK(roff_of_markdown("text\n\n    code\n\n    more\n\nend\n", true) ==
        "text\n.PP\n.RS 4\n.nf\ncode\n\nmore\n.fi\n.RE\n.PP\nend\n");
}
