#pragma once

// Catch2 v2 is one header, v3 is many: Debian 12 ships the one, later distributions the other.
#if __has_include(<catch2/catch_all.hpp>)
#include <catch2/catch_all.hpp>
#else
#include <catch2/catch.hpp>
#endif
