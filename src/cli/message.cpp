#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <memory>

#include "checks/message.h"
#include "cli/exit_status.h"
#include "cli/load.h"
#include "cli/print.h"
#include "fleet/payload_file.h"
#include "report/fleet_text.h"
#include "report/lanes_svg.h"
#include "report/message_text.h"
#include "schema/text_file.h"
#include "smi/inert.h"

namespace vergeset::cli {

namespace {

struct MessageOptions {
  std::string payload;
  std::string svg;
  bool json = false;
};

bool hex_digits(const std::string& word) {
  return !word.empty() && std::all_of(word.begin(), word.end(), [](char letter) {
    return std::string_view("0123456789abcdefABCDEF").find(letter) != std::string_view::npos;
  });
}

/// A file of the name comes before hex: "beef" may be either, and what stands there was put there.
std::optional<std::string> octets_of(const std::string& payload) {
  Faults faults;
  std::error_code none;
  std::optional<std::string> octets;
  if (std::filesystem::exists(payload, none)) {
    const auto text = read_text_file(payload);
    if (!text) {
      complain(payload + " " + text.problem());
      return std::nullopt;
    }
    octets = fleet::parse_payload(*text, payload, faults);
  } else if (hex_digits(payload)) {
    octets = fleet::parse_payload(payload, "HEX", faults);
  } else {
    complain(smi::inert(payload) + " is neither a file nor hex digits");
  }
  if (faults.any()) print_aside(report::faults_text(faults));
  return octets;
}

/// Writes the drawing; the problem, or nothing.
std::optional<std::string> write_drawing(const std::string& path, const std::string& svg) {
  if (path == "-") {
    print(svg);
    return std::nullopt;
  }
  std::ofstream out(path, std::ios::binary | std::ios::trunc);
  out << svg;
  out.close();
  if (!out) return "cannot write " + path;
  return std::nullopt;
}

int show_message(const MessageOptions& options) {
  const auto octets = octets_of(options.payload);
  if (!octets) return Exit::bad_input;
  const j2735::Message message = j2735::read_message(*octets);
  const bool readable = message.flaws.empty() && message.id;
  const bool drawing_alone = options.svg == "-";
  if (!options.svg.empty()) {
    if (message.map() == nullptr) return complain("--svg draws the lanes of a MAP, and this is none");
    if (drawing_alone && options.json) return complain("--svg - and --json both want standard output");
    if (const auto problem = write_drawing(options.svg, report::lanes_svg(*message.map()))) {
      return complain(*problem);
    }
  }
  if (options.json) {
    report::Json document = report::document("message");
    document.update(report::message_json(message));
    print(report::dump(document));
  } else if (!drawing_alone) {
    print(report::message_text(screen_here(), message));
  }
  return readable ? Exit::done : Exit::bad_input;
}

}  // namespace

Command message_command() {
  const auto options = std::make_shared<MessageOptions>();
  return {"message",
          "Says what a payload says: a MAP's lanes, notices, signals.",
          {{"",
            {{"PAYLOAD", "", "a file of hex digits, as in payloads/, or the digits", &options->payload, true},
             {"--svg", "FILE", "draw a MAP's lanes; - for standard output", &options->svg},
             {"--json", "", "one JSON document instead of text", &options->json}}}},
          "vergeset message payloads/LK-101-map.hex --svg lanes.svg",
          [options] { return show_message(*options); }};
}

}  // namespace vergeset::cli
