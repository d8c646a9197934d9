#include "change/approval.h"

#include "catch.h"
#include "records/sealed.h"

using namespace vergeset;
using change::Approval;
using change::WorkOrder;

namespace {

const Approval by_robin{"1a2b", "robin@desk", "2026-11-25T02:00:00.000Z"};

WorkOrder order_by(const std::string& who) {
  WorkOrder order{"Larkmoor", "2026-11-25T01:00:00.000Z", who, "", {}, {}};
  order.digest = "1a2b";
  return order;
}

}  // namespace

TEST_CASE("an approval reads back as it was written, and one that was edited does not") {
  const std::string text = change::to_yaml(by_robin);
  const auto again = change::approval_from_yaml(text);
  REQUIRE(static_cast<bool>(again));
  CHECK(*again == by_robin);
  for (std::size_t at = 0; at < text.size(); ++at) {
    std::string edited = text;
    edited[at] = edited[at] == 'x' ? 'y' : 'x';
    CHECK_FALSE(static_cast<bool>(change::approval_from_yaml(edited)));
    CHECK_FALSE(static_cast<bool>(change::approval_from_yaml(text.substr(0, at))));
  }
}

TEST_CASE("an approval is of one order, as it was, and by another person than wrote it") {
  CHECK(change::why_void(by_robin, order_by("alex@desk")).empty());
  WorkOrder altered = order_by("alex@desk");
  altered.digest = "1a2c";
  CHECK_THAT(change::why_void(by_robin, altered), Catch::Contains("altered"));
  CHECK_THAT(change::why_void(by_robin, order_by("robin@desk")), Catch::Contains("robin wrote the order"));
  CHECK_THAT(change::why_void(by_robin, order_by("robin@laptop")), Catch::Contains("robin wrote the order"));
}

TEST_CASE("an approval stands beside its order") {
  CHECK(change::approval_path("orders/night.yaml") == "orders/night.approval.yaml");
  CHECK(change::approval_path("orders/night") == "orders/night.approval.yaml");
}

TEST_CASE("the digest of a sealed text is the one in its last line, whatever stands in the text") {
  const std::string body = "why: \"# digest: 00\"\n# digest: 11\n";
  const std::string text = records::sealed(body);
  const auto read = records::unsealed(text);
  REQUIRE(static_cast<bool>(read));
  CHECK(*read == body);
  CHECK(records::seal_of(text).size() == 64);
  CHECK_FALSE(static_cast<bool>(records::unsealed(text + " ")));
  CHECK_FALSE(static_cast<bool>(records::unsealed(body)));
}
