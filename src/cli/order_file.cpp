#include "cli/order_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "cli/load.h"
#include "records/clock.h"
#include "records/disk.h"

namespace vergeset::cli {

namespace {

std::string folder_of(const std::string& path) {
  const std::filesystem::path file(path);
  return file.has_parent_path() ? file.parent_path().string() : ".";
}

}  // namespace

std::string cannot_write_order(const std::string& path) {
  std::error_code error;
  if (std::filesystem::exists(path, error)) {
    return path + " is there already; a work order is never replaced: give it another name";
  }
  const std::string folder = folder_of(path);
  if (std::filesystem::is_directory(folder, error)) return {};
  return fmt::format("cannot write {}: there is no folder {}; make it first, or name another file", path,
                     folder);
}

std::optional<std::string> write_order(const std::string& path, const change::World& world,
                                       const std::vector<change::Preview>& previews, const std::string& who,
                                       const std::string& why) {
  if (const std::string problem = cannot_write_order(path); !problem.empty()) return problem;
  change::WorkOrder order{
      world.fleet.name, records::stamp(world.clock.now()), who, why, change::digests(world.fleet), {}};
  for (const change::Preview& preview : previews) {
    if (preview.result.outcome != change::Outcome::settled) continue;
    const records::Snapshot as_found = change::as_found_of(preview);
    order.units.push_back(
        {preview.result.unit, as_found,
         change::desired_snapshot(as_found, preview.result.differences, *preview.unit->model),
         preview.result.sequence});
  }
  if (order.units.empty()) return "no unit would change: there is nothing to write an order for";
  records::FolderDisk(folder_of(path))
      .write_whole(std::filesystem::path(path).filename().string(), change::to_yaml(order));
  return std::nullopt;
}

Result<change::WorkOrder> read_order(const std::string& path, const fleet::Fleet& fleet) {
  const auto text = read_file(path);
  if (!text) return Problem{text.problem()};
  auto order = change::order_from_yaml(*text);
  if (!order) return Problem{path + ": " + order.problem()};
  if (order->fleet != fleet.name) {
    return Problem{fmt::format("{}: it is for {}, this fleet is {}", path, order->fleet, fleet.name)};
  }
  for (const change::OrderedUnit& unit : order->units) {
    const fleet::Unit* found = fleet.unit(unit.unit);
    if (found == nullptr) return Problem{fmt::format("{}: no unit {} in this fleet", path, unit.unit)};
    if (found->model->name != unit.as_found.model) {
      return Problem{fmt::format("{}: {} was {} then, the inventory says {} now; write a new order", path,
                                 unit.unit, unit.as_found.model, found->model->name)};
    }
  }
  return order;
}

Result<std::optional<change::Approval>> approval_of(const std::string& path, const change::WorkOrder& order) {
  const std::string beside = change::approval_path(path);
  std::error_code error;
  if (!std::filesystem::exists(beside, error)) return std::optional<change::Approval>();
  const auto text = read_file(beside);
  if (!text) return Problem{text.problem()};
  auto approval = change::approval_from_yaml(*text);
  if (!approval) return Problem{fmt::format("{}: {}", beside, approval.problem())};
  if (const std::string why = change::why_void(*approval, order); !why.empty())
    return Problem{fmt::format("{}: {}", beside, why)};
  return std::optional(*std::move(approval));
}

std::optional<std::string> write_approval(const std::string& path, const change::Approval& approval) {
  const std::filesystem::path beside = change::approval_path(path);
  try {
    records::FolderDisk(folder_of(path)).write_whole(beside.filename().string(), change::to_yaml(approval));
  } catch (const records::DiskError& error) {
    return error.what();
  }
  std::error_code ignored;
  using std::filesystem::perms;
  std::filesystem::permissions(beside, perms::group_read | perms::others_read,
                               std::filesystem::perm_options::add, ignored);
  return std::nullopt;
}

std::vector<std::string> changed_since(const change::WorkOrder& order, const fleet::Fleet& fleet) {
  const auto now = change::digests(fleet);
  std::vector<std::string> changed;
  for (const auto& file : order.files) {
    if (std::find(now.begin(), now.end(), file) == now.end()) changed.push_back(file.first);
  }
  for (const auto& file : now) {
    const bool known = std::any_of(order.files.begin(), order.files.end(),
                                   [&](const auto& one) { return one.first == file.first; });
    if (!known) changed.push_back(file.first);
  }
  return changed;
}

}  // namespace vergeset::cli
