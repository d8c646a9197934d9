#include "records/yaml_text.h"

#include <fmt/format.h>
#include <yaml-cpp/eventhandler.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <sstream>
#include <string_view>

#include "records/journal.h"
#include "smi/inert.h"
#include "smi/utf8.h"
#include "smi/words.h"

namespace vergeset::records {

namespace {

/// What a record has no place for and yaml-cpp would not tell: an alias, of which a few lines can stand for
/// more than memory holds; a second document, which would be passed over; and a comma in front of a document,
/// which it never gets past.
class OneDocument : public YAML::EventHandler {
 public:
  void OnAlias(const YAML::Mark& mark, YAML::anchor_t) override {
    throw YAML::ParserException(mark, "an alias (*) has no place in a record");
  }
  void OnDocumentStart(const YAML::Mark& mark) override {
    if (++documents_ > 1)
      throw YAML::ParserException(mark, "a record is one document, and here begins another");
  }
  void OnDocumentEnd() override {}
  void OnNull(const YAML::Mark&, YAML::anchor_t) override {}
  void OnScalar(const YAML::Mark&, const std::string&, YAML::anchor_t, const std::string&) override {}
  void OnSequenceStart(const YAML::Mark&, const std::string&, YAML::anchor_t,
                       YAML::EmitterStyle::value) override {}
  void OnSequenceEnd() override {}
  void OnMapStart(const YAML::Mark&, const std::string&, YAML::anchor_t, YAML::EmitterStyle::value) override {
  }
  void OnMapEnd() override {}

 private:
  int documents_ = 0;
};

/// Records that we write show by a glance that none of it is in them; the others are parsed once more.
void look_through(const std::string& text) {
  const auto has = [&](const char* what) { return text.find(what) != std::string::npos; };
  const bool ours = !text.empty() && std::isalpha(static_cast<unsigned char>(text.front())) != 0;
  if (ours && !(has("*") && has("&")) && !has("\n---") && !has("\n...")) return;
  std::istringstream stream(text);
  YAML::Parser parser(stream);
  OneDocument handler;
  while (parser.HandleNextDocument(handler)) {
  }
}

/// Where octets stand that are no text; its size where none do. DEL stands in records as it is: JSON does not
/// ask for an escape.
std::size_t end_of_text(std::string_view text) {
  std::size_t at = readable(text);
  while (at < text.size() && text[at] == '\x7f') at += 1 + readable(text.substr(at + 1));
  return at;
}

std::string line_of(const std::string& text, std::size_t octet) {
  return fmt::format("line {}",
                     std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(octet), '\n') + 1);
}

}  // namespace

Result<YAML::Node> parse_record(const std::string& text) {
  // yaml-cpp takes octet 4 for the end of the text: a reader would be shown what is not read.
  if (const std::size_t at = end_of_text(text); at < text.size())
    return Problem{line_of(text, at) + ": what stands here is no UTF-8 text"};
  try {
    look_through(text);
    YAML::Node node = YAML::Load(text);
    if (!node.IsMap()) return Problem{"expected a map, found something else"};
    return node;
  } catch (const YAML::Exception& error) {
    return Problem{fmt::format("line {}: {}", error.mark.line + 1, smi::escaped(error.msg))};
  }
}

std::string text_at(const YAML::Node& map, const char* key) {
  const YAML::Node found = map.IsMap() ? map[key] : YAML::Node(YAML::NodeType::Undefined);
  return found.IsDefined() && found.IsScalar() ? found.Scalar() : std::string();
}

std::string scalar(const std::string& text) {
  const auto plain = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '.' ||
           c == '-' || c == '_' || c == ' ';
  };
  constexpr std::array<std::string_view, 9> words = {"y",   "n",    "yes",   "no",  "on",
                                                     "off", "true", "false", "null"};
  const bool letter_first =
      !text.empty() && std::isalpha(static_cast<unsigned char>(text.front())) != 0 && text.back() != ' ';
  const bool word = std::find(words.begin(), words.end(), smi::lower(text)) != words.end();
  if (letter_first && !word && std::all_of(text.begin(), text.end(), plain)) return text;
  return smi::inert_yaml(Json(text).dump(-1, ' ', false, Json::error_handler_t::replace));  // JSON is YAML
}

}  // namespace vergeset::records
