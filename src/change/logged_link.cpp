#include "change/logged_link.h"

#include <fmt/format.h>

#include "change/usm_users.h"
#include "smi/words.h"

namespace vergeset::change {

namespace {

std::string instance_name(const schema::Model& model, const smi::Oid& oid) {
  const std::string of_user = user_object_name(oid);
  return of_user.empty() ? model.name_of(oid) : of_user;
}

/// An instance, or the object type that a GETBULK begins with.
std::string name_of(const schema::Model& model, const smi::Oid& oid) {
  const schema::Object* const object = model.object_at(oid.child(0));
  return object != nullptr && object->oid == oid ? object->name : instance_name(model, oid);
}

std::string first_of(const schema::Model& model, const std::vector<smi::Oid>& oids) {
  if (oids.empty()) return "nothing";
  const std::string name = name_of(model, oids.front());
  return oids.size() == 1 ? name : fmt::format("{} and {} more", name, oids.size() - 1);
}

std::string value_text(const schema::Model& model, const snmp::VarBind& one) {
  if (is_key_change(one.oid)) return "(a key change, not shown)";
  const schema::Object* const object = model.object_at(one.oid);
  if (object != nullptr) return smi::to_text(object->syntax, one.value);
  if (one.value.type == smi::Type::object_id) return instance_name(model, *one.value.oid);
  return is_group_name(one.oid) ? smi::escaped(one.value.octets) : smi::exact_text(one.value);
}

std::string in_words(const schema::Model& model, const snmp::VarBind& one) {
  return fmt::format("{} = {}", instance_name(model, one.oid), value_text(model, one));
}

/// A refusal by the name of the object; a SET whose response is lost may have been carried out.
std::string outcome_of(const schema::Model& model, const snmp::Error& error,
                       const std::vector<snmp::VarBind>& sent) {
  if (error.status != 0 && error.index > 0 && error.index <= sent.size()) {
    return fmt::format("refused: {} for {}", snmp::status_name(error.status),
                       instance_name(model, sent[error.index - 1].oid));
  }
  return (error.status != 0 ? "refused: " : "not answered: ") + error.text;
}

}  // namespace

/// What the unit refuses is told by the object's name.
snmp::Answer LoggedLink::named(snmp::Answer answer, const std::vector<smi::Oid>& asked) const {
  if (answer || answer.error().status == 0) return answer;
  snmp::Error error = answer.error();
  if (error.index == 0 && asked.size() != 1) return answer;
  if (error.index > asked.size()) return answer;
  error.text = fmt::format("the unit answered {} for {}", snmp::status_name(error.status),
                           name_of(model_, asked[error.index == 0 ? 0 : error.index - 1]));
  return error;
}

void LoggedLink::note(const std::string& request, const snmp::Answer& answer) {
  const std::size_t count = answer ? answer.varbinds().size() : 0;
  const std::string result =
      answer ? fmt::format("{} value{}", count, count == 1 ? "" : "s") : answer.error().text;
  log_.line(fmt::format("{}: {}", request, result));
}

snmp::Task<snmp::Answer> LoggedLink::get(std::vector<smi::Oid> oids) {
  const std::string request = "GET " + first_of(model_, oids);
  const std::vector<smi::Oid> asked = oids;
  snmp::Answer got = co_await link_->get(std::move(oids));
  snmp::Answer answer = named(std::move(got), asked);
  note(request, answer);
  co_return answer;
}

snmp::Task<snmp::Answer> LoggedLink::get_next(std::vector<smi::Oid> oids) {
  const std::string request = "GETNEXT " + first_of(model_, oids);
  snmp::Answer answer = co_await link_->get_next(std::move(oids));
  note(request, answer);
  co_return answer;
}

snmp::Task<snmp::Answer> LoggedLink::get_bulk(std::vector<smi::Oid> once, std::vector<smi::Oid> repeated,
                                              int repetitions) {
  const std::string rows = fmt::format("{}, {} rows", first_of(model_, repeated), repetitions);
  const std::string request = "GETBULK " + (once.empty() ? rows : first_of(model_, once) + "; " + rows);
  snmp::Answer answer = co_await link_->get_bulk(std::move(once), std::move(repeated), repetitions);
  note(request, answer);
  co_return answer;
}

snmp::Task<bool> LoggedLink::answers_little() {
  const bool answered = co_await link_->answers_little();
  log_.line(answered ? "it answers its uptime all the same: asked for less at a time"
                     : "its uptime is not answered");
  co_return answered;
}

snmp::Task<snmp::Answer> LoggedLink::set(std::vector<snmp::VarBind> varbinds) {
  std::string request = "SET ";
  for (const snmp::VarBind& one : varbinds) {
    request += (request.size() > 4 ? ", " : "") + in_words(model_, one);
  }
  log_.line(request);
  log_.flush();
  const std::vector<snmp::VarBind> sent = varbinds;
  snmp::Answer answer = co_await link_->set(std::move(varbinds));
  log_.line("SET " + (answer ? std::string("done: noError") : outcome_of(model_, answer.error(), sent)));
  co_return answer;
}

}  // namespace vergeset::change
