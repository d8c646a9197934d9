#include "hex_file.h"

#include <cctype>
#include <fstream>
#include <stdexcept>

std::string hex_file(const std::filesystem::path& file) {
  std::ifstream in(file);
  if (!in) {
    throw std::runtime_error("cannot read " + file.string());
  }
  std::string digits;
  for (std::string line; std::getline(in, line);) {
    for (const char c : line.substr(0, line.find('#'))) {
      if (std::isxdigit(static_cast<unsigned char>(c)) != 0) {
        digits.push_back(c);
      } else if (std::isspace(static_cast<unsigned char>(c)) == 0) {
        throw std::runtime_error(file.string() + " has something that is no hex digit");
      }
    }
  }
  if (digits.empty() || digits.size() % 2 != 0) {
    throw std::runtime_error(file.string() + " has no whole octets");
  }
  std::string octets;
  for (std::size_t i = 0; i < digits.size(); i += 2) {
    octets.push_back(static_cast<char>(std::stoi(digits.substr(i, 2), nullptr, 16)));
  }
  return octets;
}

std::string message_in(const std::string& frame, int message_id) {
  const auto octet = [&](std::size_t i) {
    return static_cast<unsigned>(static_cast<unsigned char>(frame.at(i)));
  };
  if (octet(0) * 256 + octet(1) != static_cast<unsigned>(message_id)) {
    throw std::runtime_error("the message id is not " + std::to_string(message_id));
  }
  // X.691 11.9: one octet up to 127, two beginning with the bits 10 up to 16383.
  const bool two = (octet(2) & 0x80U) != 0;
  const std::size_t length = two ? (octet(2) & 0x3fU) * 256 + octet(3) : octet(2);
  const std::string message = frame.substr(two ? 4 : 3);
  if (message.size() != length) {
    throw std::runtime_error("the length says " + std::to_string(length) + " octets, and " +
                             std::to_string(message.size()) + " are there");
  }
  return message;
}
