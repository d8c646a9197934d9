#include "report/markup.h"

namespace vergeset::report {

std::string as_markup(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  for (const char letter : text) {
    switch (letter) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += letter;
    }
  }
  return out;
}

}  // namespace vergeset::report
