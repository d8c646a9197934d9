#include "change/logged_link.h"

#include <fmt/format.h>

namespace vergeset::change {

namespace {

std::string first_of(const schema::Model& model, const std::vector<smi::Oid>& oids) {
  if (oids.empty()) return "nothing";
  const std::string name = model.name_of(oids.front());
  return oids.size() == 1 ? name : fmt::format("{} and {} more", name, oids.size() - 1);
}

std::string in_words(const schema::Model& model, const snmp::VarBind& one) {
  const schema::Object* object = model.object_at(one.oid);
  const std::string text =
      object != nullptr ? smi::to_text(object->syntax, one.value) : smi::exact_text(one.value);
  return fmt::format("{} = {}", model.name_of(one.oid), text);
}

}  // namespace

void LoggedLink::note(const std::string& request, const snmp::Answer& answer) {
  const std::string result =
      answer ? fmt::format("{} values", answer.varbinds().size()) : answer.error().text;
  log_.line(fmt::format("{}: {}", request, result));
}

snmp::Task<snmp::Answer> LoggedLink::get(std::vector<smi::Oid> oids) {
  const std::string request = "GET " + first_of(model_, oids);
  snmp::Answer answer = co_await link_->get(std::move(oids));
  note(request, answer);
  co_return answer;
}

snmp::Task<snmp::Answer> LoggedLink::get_next(std::vector<smi::Oid> oids) {
  const std::string request = "GETNEXT " + first_of(model_, oids);
  snmp::Answer answer = co_await link_->get_next(std::move(oids));
  note(request, answer);
  co_return answer;
}

snmp::Task<snmp::Answer> LoggedLink::get_bulk(std::vector<smi::Oid> oids, int repetitions) {
  const std::string request = fmt::format("GETBULK {}, {} rows", first_of(model_, oids), repetitions);
  snmp::Answer answer = co_await link_->get_bulk(std::move(oids), repetitions);
  note(request, answer);
  co_return answer;
}

snmp::Task<snmp::Answer> LoggedLink::set(std::vector<snmp::VarBind> varbinds) {
  std::string request = "SET ";
  for (const snmp::VarBind& one : varbinds) {
    request += (request.size() > 4 ? ", " : "") + in_words(model_, one);
  }
  log_.line(request);
  snmp::Answer answer = co_await link_->set(std::move(varbinds));
  log_.line("SET " + (answer ? std::string("done: noError") : "not done: " + answer.error().text));
  co_return answer;
}

}  // namespace vergeset::change
