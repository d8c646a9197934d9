#include "change/approval.h"

#include <fmt/format.h>

#include "records/change_record.h"
#include "records/sealed.h"
#include "records/yaml_text.h"

namespace vergeset::change {

namespace {

using records::scalar;
using records::text_at;

bool ends_with(const std::string& text, std::string_view end) {
  return text.size() > end.size() && text.compare(text.size() - end.size(), end.size(), end) == 0;
}

Result<Approval> approval_from(const YAML::Node& node) {
  if (text_at(node, "approval") != "1") return Problem{"expected `approval: 1`"};
  Approval approval{text_at(node, "order"), text_at(node, "who"), text_at(node, "approved")};
  if (approval.order.empty() || person_of(approval.who).empty() || approval.approved.empty())
    return Problem{"expected `order:`, `who:` and `approved:`"};
  return approval;
}

}  // namespace

std::string to_yaml(const Approval& approval) {
  return records::sealed(fmt::format("approval: 1\norder: {}\nwho: {}\napproved: {}\n",
                                     scalar(approval.order), scalar(approval.who),
                                     scalar(approval.approved)));
}

Result<Approval> approval_from_yaml(const std::string& text) {
  const auto body = records::unsealed(text);
  if (!body) return Problem{body.problem()};
  return records::from_record<Approval>(*body, approval_from);
}

std::string approval_path(const std::string& order_path) {
  constexpr std::string_view yaml = ".yaml";
  const bool named = ends_with(order_path, yaml);
  return (named ? order_path.substr(0, order_path.size() - yaml.size()) : order_path) + ".approval.yaml";
}

std::string person_of(const std::string& who) {
  return who.substr(0, who.find('@'));
}

std::string why_void(const Approval& approval, const WorkOrder& order) {
  if (approval.order != order.digest) return "it is of another order, or of this one before it was altered";
  if (person_of(approval.who) == person_of(order.who))
    return fmt::format("{} wrote the order and cannot approve it", person_of(order.who));
  return {};
}

}  // namespace vergeset::change
