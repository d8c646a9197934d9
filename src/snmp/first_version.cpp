#include "snmp/first_version.h"

#include <iterator>
#include <utility>

#include "snmp/library.h"

namespace vergeset::snmp {

namespace {

class FirstVersion final : public Link {
 public:
  explicit FirstVersion(std::unique_ptr<Link> link) : link_(std::move(link)) {}

  Task<Answer> get(std::vector<smi::Oid> oids) override {
    return read(std::move(oids), &Link::get, smi::Type::no_such_instance);
  }
  Task<Answer> get_next(std::vector<smi::Oid> oids) override {
    return read(std::move(oids), &Link::get_next, smi::Type::end_of_mib_view);
  }
  using Link::get_bulk;
  /// One repetition, which an answer to a GETBULK may have as well (RFC 3416 4.2.3).
  Task<Answer> get_bulk(std::vector<smi::Oid> once, std::vector<smi::Oid> repeated, int) override {
    std::move(repeated.begin(), repeated.end(), std::back_inserter(once));
    return get_next(std::move(once));
  }
  Task<Answer> set(std::vector<VarBind> varbinds) override { return link_->set(std::move(varbinds)); }
  Task<bool> answers_little() override { return link_->answers_little(); }
  Engine engine() const override { return link_->engine(); }
  Traffic traffic() const override { return link_->traffic(); }

 private:
  using Ask = Task<Answer> (Link::*)(std::vector<smi::Oid>);

  /// noSuchName names the first instance that is not there; the others are asked for anew without it.
  Task<Answer> read(std::vector<smi::Oid> oids, Ask ask, smi::Type absent) {
    std::vector<VarBind> found;
    std::vector<std::size_t> places;
    for (std::size_t i = 0; i < oids.size(); ++i) {
      found.push_back({oids[i], smi::Value::of_number(absent, 0)});
      places.push_back(i);
    }
    while (!places.empty()) {
      std::vector<smi::Oid> left;
      for (const std::size_t place : places) left.push_back(oids[place]);
      Answer answer = co_await ((*link_).*ask)(std::move(left));
      if (answer) {
        std::vector<VarBind> varbinds = answer.take();
        for (std::size_t i = 0; i < places.size(); ++i) found[places[i]] = std::move(varbinds[i]);
        break;
      }
      const Error& error = answer.error();
      if (error.status != SNMP_ERR_NOSUCHNAME || error.index == 0 || error.index > places.size()) {
        co_return answer;
      }
      places.erase(places.begin() + static_cast<std::ptrdiff_t>(error.index - 1));
    }
    co_return found;
  }

  std::unique_ptr<Link> link_;
};

}  // namespace

std::unique_ptr<Link> as_later_version(std::unique_ptr<Link> link) {
  return std::make_unique<FirstVersion>(std::move(link));
}

}  // namespace vergeset::snmp
