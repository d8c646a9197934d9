#pragma once

#include <string>
#include <vector>

#include "schema/model_text_parts.h"

namespace vergeset::schema {

/// What a person is to look at in an object of a MIB before a fleet relies on it, each in a few words: the
/// traits of what can be set, with the word of the MIB that points to one; forms that are guessed; units that
/// vergeset does not know.
std::vector<std::string> things_to_review(const PartObject& part);
std::vector<std::string> things_to_review(const PartTable& table);

/// The traits that a MIB does tell: a TestAndIncr is a lock (RFC 2579), what is write-only has no value.
bool is_told_an_action(const smi::MibObject& object);

bool can_be_set(const smi::MibObject& object);
bool can_be_read(const smi::MibObject& object);

}  // namespace vergeset::schema
