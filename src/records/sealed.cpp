#include "records/sealed.h"

#include <string_view>

#include "records/change_record.h"

namespace vergeset::records {

namespace {

constexpr std::string_view seal = "# digest: ";

}  // namespace

std::string sealed(const std::string& body) {
  return body + std::string(seal) + sha256(body) + "\n";
}

std::string seal_of(const std::string& text) {
  const auto at = text.rfind(seal);
  if (at == std::string::npos) return {};
  const auto from = at + seal.size();
  return text.substr(from, text.find('\n', from) - from);
}

Result<std::string> unsealed(const std::string& text) {
  const auto at = text.rfind(seal);
  if (at == std::string::npos) return Problem{"expected its digest in the last line; found none"};
  std::string body = text.substr(0, at);
  if (sealed(body) == text) return body;
  return Problem{"its digest does not fit: it was edited or cut after it was written"};
}

}  // namespace vergeset::records
