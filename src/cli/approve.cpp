#include <fmt/format.h>

#include <memory>

#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/load.h"
#include "cli/order_file.h"
#include "cli/print.h"
#include "records/clock.h"
#include "report/json.h"
#include "report/table.h"
#include "report/words.h"

namespace vergeset::cli {

namespace {

struct ApproveOptions {
  Common common;
  std::string order;
};

std::string steps_text(const change::OrderedUnit& unit) {
  const change::Sequence& sequence = unit.sequence;
  return report::counted(sequence.steps.size(), "step") +
         (sequence.leaves_operate ? ", leaves operate for a time" : "") +
         (sequence.ends_off_air ? ", is left off air" : "");
}

void show(const ApproveOptions& options, const change::WorkOrder& order, const change::Approval& approval) {
  const std::string beside = change::approval_path(options.order);
  if (options.common.json) {
    report::Json document = report::document("approve");
    document["work_order"] = options.order;
    document["digest"] = order.digest;
    document["written_by"] = order.who;
    document["written"] = order.written;
    document["approved_by"] = approval.who;
    document["approved"] = approval.approved;
    document["approval"] = beside;
    return print(report::dump(document));
  }
  report::Table table(2, {"unit", "what would be done"});
  for (const change::OrderedUnit& unit : order.units) table.add({unit.unit, steps_text(unit)});
  print(table.text(screen_here(), true) + "\n" +
        report::paragraph(
            screen_here(),
            fmt::format("approved by {} as it was written by {} at {}, digest {}; on record in {}",
                        approval.who, order.who, order.written, order.digest, beside)));
}

int approve(const ApproveOptions& options) {
  const auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  const auto order = read_order(options.order, *fleet);
  if (!order) return complain(order.problem());
  const change::Approval approval{order->digest, who_am_i(), records::stamp(records::SystemClock().now())};
  if (const std::string why = change::why_void(approval, *order); !why.empty()) return complain(why);
  // One that does not fit this order any more is replaced: it lets nothing be carried out.
  if (const auto before = approval_of(options.order, *order); before && *before) {
    return complain(fmt::format("{} has approved it already, at {}", (*before)->who, (*before)->approved));
  }
  if (const auto problem = write_approval(options.order, approval)) return complain(*problem);
  show(options, *order, approval);
  return Exit::done;
}

}  // namespace

Command approve_command() {
  const auto options = std::make_shared<ApproveOptions>();
  return {
      "approve",
      "Approves a work order that another wrote, as it is.",
      {{"", {{"ORDER", "", "the work order's file", &options->order, true}}}, section_of(options->common)},
      "vergeset approve order.yaml",
      [options] { return approve(*options); }};
}

}  // namespace vergeset::cli
