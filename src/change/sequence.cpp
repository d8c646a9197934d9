#include "change/sequence.h"

#include <fmt/format.h>

#include <algorithm>

#include "change/message_size.h"
#include "records/mistake.h"
#include "smi/row_status.h"

namespace vergeset::change {

namespace {

using records::makes;
using records::Mistake;

using namespace smi::row_status;

Assignment assignment(const Item& item) {
  return {item.name, item.oid, item.desired, item.syntax, item.desired_text()};
}

std::size_t octets(const Assignment& one) {
  return varbind_octets(one.oid, one.value);
}

std::size_t octets(const std::vector<Assignment>& all) {
  std::size_t sum = 0;
  for (const Assignment& one : all) sum += octets(one);
  return sum;
}

/// Cuts assignments into requests that fit; one that is too large by itself stands alone.
std::vector<std::vector<Assignment>> fitting(const std::vector<Assignment>& all) {
  std::vector<std::vector<Assignment>> requests;
  std::size_t room = 0;
  for (const Assignment& one : all) {
    if (requests.empty() || octets(one) > room) {
      requests.emplace_back();
      room = message_octets;
    }
    requests.back().push_back(one);
    room -= std::min(room, octets(one));
  }
  return requests;
}

/// The steps of one part of a sequence: on air, in standby, or cutting off.
class Part {
 public:
  Part(const schema::Model& model, bool standby, bool cuts_off)
      : model_(model), standby_(standby), cuts_off_(cuts_off) {}

  /// A restore takes the scalars last, as the way there took them first.
  void add(const std::vector<const Difference*>& differences, Order order) {
    if (order == Order::forward) scalars(differences);
    for (const auto kind :
         {Difference::Kind::remove_row, Difference::Kind::change_row, Difference::Kind::make_row}) {
      for (const Difference* difference : differences) {
        if (difference->kind == kind) row(*difference);
      }
    }
    if (order == Order::reverse) scalars(differences);
  }

  std::vector<Step> take() { return std::move(steps_); }

 private:
  Assignment status_of(const RowPlace& row, std::int64_t status, const char* label) const {
    smi::Syntax syntax;
    syntax.form = smi::Form::row_status;
    return {model_.name_of(row.status), row.status, smi::Value::integer(status), syntax,
            fmt::format("{}({})", label, status)};
  }

  void step(std::string about, std::vector<Assignment> assignments) {
    steps_.push_back({Step::Kind::set, std::move(about), standby_, cuts_off_, std::move(assignments)});
  }

  /// One request for all scalars, as if set at once (RFC 3416 4.2.5), unless they do not fit.
  void scalars(const std::vector<const Difference*>& differences) {
    std::vector<Assignment> all;
    std::vector<std::pair<smi::Oid, std::string>> names;
    for (const Difference* difference : differences) {
      if (difference->kind != Difference::Kind::value) continue;
      all.push_back(assignment(difference->items.front()));
      names.emplace_back(all.back().oid, difference->name);
    }
    for (std::vector<Assignment>& request : fitting(all)) {
      std::string about;
      for (const Assignment& one : request) {
        const auto named =
            std::find_if(names.begin(), names.end(), [&](const auto& n) { return n.first == one.oid; });
        about += (about.empty() ? "" : ", ") + named->second;
      }
      step(about, std::move(request));
    }
  }

  void row(const Difference& difference) {
    switch (difference.kind) {
      case Difference::Kind::remove_row:
        return step("remove " + difference.title(), {status_of(difference.row, destroy, "destroy")});
      case Difference::Kind::make_row:
        return make(difference, columns(difference.items));
      case Difference::Kind::change_row:
        return change(difference);
      case Difference::Kind::value:
        return;
    }
  }

  static std::vector<Assignment> columns(const std::vector<Item>& items) {
    std::vector<Assignment> all;
    for (const Item& item : items) all.push_back(assignment(item));
    return all;
  }

  void in_requests(const std::string& about, const std::vector<Assignment>& all) {
    for (std::vector<Assignment>& request : fitting(all)) step(about, std::move(request));
  }

  void make(const Difference& difference, std::vector<Assignment> all) {
    const std::string about = "make " + difference.title();
    if (difference.row.not_active) {
      step(about, {status_of(difference.row, create_and_wait, "createAndWait")});
      return in_requests(about, all);
    }
    all.push_back(status_of(difference.row, create_and_go, "createAndGo"));
    if (octets(all) <= message_octets) return step(about, std::move(all));
    all.pop_back();
    step(about, {status_of(difference.row, create_and_wait, "createAndWait")});
    in_requests(about, all);
    step(about, {status_of(difference.row, active, "active")});
  }

  void change(const Difference& difference) {
    const std::string about = "change " + difference.title();
    const bool has_status = !difference.row.status.empty();
    std::vector<Assignment> changed = columns(difference.items);
    if (has_status && difference.row.edit == schema::RowEdit::remake) {
      step(about, {status_of(difference.row, destroy, "destroy")});
      std::vector<Assignment> whole = columns(difference.whole_row);
      for (const Assignment& one : changed) {
        if (one.oid != difference.row.status) whole.push_back(one);
      }
      return make(difference, std::move(whole));
    }
    if (has_status && difference.row.edit == schema::RowEdit::out_of_service) {
      changed.erase(std::remove_if(changed.begin(), changed.end(),
                                   [&](const Assignment& one) { return one.oid == difference.row.status; }),
                    changed.end());
      step(about, {status_of(difference.row, not_in_service, "notInService")});
      in_requests(about, changed);
      if (difference.row.not_active) return;
      return step(about, {status_of(difference.row, active, "active")});
    }
    in_requests(about, changed);
  }

  const schema::Model& model_;
  bool standby_;
  bool cuts_off_;
  std::vector<Step> steps_;
};

void append(std::vector<Step>& steps, std::vector<Step> more) {
  std::move(more.begin(), more.end(), std::back_inserter(steps));
}

/// The differences sorted by when they may be set.
struct Sorted {
  std::vector<const Difference*> on_air;
  std::vector<const Difference*> in_standby;
  std::vector<const Difference*> cutting;
  const Difference* mode = nullptr;
};

Sorted sort_out(const schema::Model& model, const std::vector<Difference>& differences, Order order) {
  Sorted sorted;
  const smi::Oid mode = model.mode ? model.mode->asked->oid.child(0) : smi::Oid();
  for (const Difference& difference : differences) {
    if (difference.kind == Difference::Kind::value && difference.items.front().oid == mode) {
      sorted.mode = &difference;
    } else if (difference.cuts_off()) {
      sorted.cutting.push_back(&difference);
    } else if ((difference.standby() || makes(Mistake::all_in_standby)) && model.mode) {
      sorted.in_standby.push_back(&difference);
    } else {
      sorted.on_air.push_back(&difference);
    }
  }
  if (order == Order::reverse) {
    for (auto* list : {&sorted.on_air, &sorted.in_standby, &sorted.cutting})
      std::reverse(list->begin(), list->end());
  }
  return sorted;
}

std::vector<Step> part(const schema::Model& model, const std::vector<const Difference*>& differences,
                       bool standby, bool cuts_off, Order order) {
  Part steps(model, standby, cuts_off);
  steps.add(differences, order);
  return steps.take();
}

}  // namespace

bool Assignment::makes_row() const {
  return syntax.form == smi::Form::row_status &&
         (value.number == create_and_go || value.number == create_and_wait);
}

bool Assignment::carried_out(const smi::Value& read) const {
  if (syntax.form != smi::Form::row_status) return !read.absent() && smi::agree(syntax, read, value);
  if (value.number == destroy) return read.absent();
  if (value.number == create_and_wait) return !read.absent() && read.number != active;
  return !read.absent() && smi::agree(syntax, read, value);
}

Step mode_step(const schema::ModeRule& rule, bool operate) {
  const std::int64_t value = operate ? rule.operate : rule.standby;
  const smi::Value wanted = smi::Value::integer(value);
  const Assignment mode{rule.asked->name + ".0",
                        rule.asked->oid.child(0),
                        wanted,
                        rule.asked->syntax,
                        smi::to_text(rule.asked->syntax, wanted),
                        rule.asked == rule.status};
  return {operate ? Step::Kind::go_operate : Step::Kind::go_standby,
          operate ? "go to operate" : "go to standby",
          false,
          false,
          {mode}};
}

Sequence sequence(const schema::Model& model, const std::vector<Difference>& differences,
                  const ModeFound& mode, Order order) {
  const Sorted sorted = sort_out(model, differences, order);
  Sequence out;
  // On the way back the unit is in standby already, if it ever was: first what brings it on air.
  if (order == Order::forward) append(out.steps, part(model, sorted.on_air, false, false, order));

  const bool bracket = !sorted.in_standby.empty();
  const std::int64_t end_mode =
      sorted.mode != nullptr ? sorted.mode->items.front().desired.number : mode.asked;
  const bool end_in_operate = model.mode && end_mode == model.mode->operate;
  const bool end_in_standby = model.mode && end_mode == model.mode->standby;
  bool in_standby = mode.standby;
  if (bracket && !in_standby) {
    out.steps.push_back(mode_step(*model.mode, false));
    out.leaves_operate = mode.operate;
    in_standby = true;
  }
  append(out.steps, part(model, sorted.in_standby, out.leaves_operate, false, order));
  if (model.mode && in_standby && end_in_operate) out.steps.push_back(mode_step(*model.mode, true));
  const bool to_standby = end_in_standby && sorted.mode != nullptr;
  if (model.mode && to_standby && (!in_standby || (mode.standby && mode.asked != end_mode))) {
    out.steps.push_back(mode_step(*model.mode, false));
  }
  if (model.mode && !in_standby && end_in_operate && !mode.operate)
    out.steps.push_back(mode_step(*model.mode, true));
  out.ends_off_air = mode.operate && end_in_standby;
  if (order == Order::reverse) append(out.steps, part(model, sorted.on_air, false, false, order));
  append(out.steps, part(model, sorted.cutting, false, true, order));
  return out;
}

double expected_off_air_s(const Sequence& sequence) {
  if (!sequence.leaves_operate) return 0;
  constexpr double transition_s = 2.0;
  constexpr double round_trip_s = 0.2;
  double seconds = 2 * transition_s;
  for (const Step& step : sequence.steps) {
    if (step.standby) seconds += round_trip_s;
  }
  return seconds;
}

}  // namespace vergeset::change
