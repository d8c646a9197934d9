#include "report/progress_text.h"

#include "catch.h"

using namespace std::chrono_literals;
using vergeset::report::progress_text;

TEST_CASE("progress tells what is done, in hand and failed, how fast, and how long it will take") {
  CHECK(progress_text(10000, 1234, 256, 3, 2s) ==
        "read 1,234 of 10,000; 256 in hand, 3 failed; 617 a second, 14 s left");
  CHECK(progress_text(40, 10, 8, 0, 5s) == "read 10 of 40; 8 in hand; 2.0 a second, 15 s left");
  CHECK(progress_text(1000, 10, 1, 0, 100s) == "read 10 of 1,000; 1 in hand; 0.1 a second, 2 h 45 min left");
}

TEST_CASE("progress promises nothing before a unit is done, nor when all are") {
  CHECK(progress_text(40, 0, 40, 0, 1s) == "read 0 of 40; 40 in hand");
  CHECK(progress_text(40, 40, 0, 1, 4s) == "read 40 of 40; 0 in hand, 1 failed; 10 a second");
}

TEST_CASE("progress promises nothing of a first handful, nor of the slow ones that are left") {
  CHECK(progress_text(10000, 255, 256, 0, 3s) == "read 255 of 10,000; 256 in hand");
  CHECK(progress_text(10000, 256, 256, 0, 3s) == "read 256 of 10,000; 256 in hand; 85 a second, 2 min left");
  CHECK(progress_text(400, 380, 20, 0, 10s) == "read 380 of 400; 20 in hand");
  CHECK(progress_text(400, 380, 19, 0, 10s) == "read 380 of 400; 19 in hand; 38 a second, 1 s left");
}

TEST_CASE("the longest line of progress fits 80 columns") {
  CHECK(progress_text(999999, 888888, 256, 77777, 100s).size() < 80);
}
