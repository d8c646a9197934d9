#include <fmt/format.h>
#include <yaml-cpp/yaml.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include "hex_file.h"

/// Decodes every notice of a folder with a decoder made by asn1c and compares what that reads with
/// notices.yaml. Before, the decoder reads a published message, which shows that messages.asn is right as far
/// as that message goes.

namespace {

/// Published UPER sample messages of a connected-vehicle certification body, 2017, behind id and length.
constexpr const char* published = "0000008000000001f4000000220000025fc180b914f6241019300188c4644420";

/// What the decoder makes of a message, as XML without line ends and the blanks around tags.
std::string decoded(const std::string& decoder, const std::filesystem::path& work,
                    const std::string& message) {
  const std::filesystem::path in = work / "message.uper";
  const std::filesystem::path out = work / "message.xml";
  std::ofstream(in, std::ios::binary) << message;
  const std::string command = fmt::format("'{}' -iper -oxer '{}' >'{}' 2>'{}'", decoder, in.string(),
                                          out.string(), (work / "decode.log").string());
  if (std::system(command.c_str()) != 0) {
    throw std::runtime_error("the decoder could not read it; see decode.log in " + work.string());
  }
  std::ifstream file(out);
  std::string text;
  for (std::string line; std::getline(file, line);) {
    const std::size_t begin = line.find_first_not_of(' ');
    text += begin == std::string::npos ? "" : line.substr(begin);
  }
  return text;
}

int differ(const std::string& name, const std::string& xml, const std::vector<std::string>& expected) {
  int count = 0;
  std::size_t from = 0;
  for (const std::string& each : expected) {
    const std::size_t found = xml.find(each, from);
    if (found == std::string::npos) {
      ++count;
      fmt::print("{}: expected {} (in this order), decoded is\n  {}\n", name, each, xml);
    } else {
      from = found + each.size();
    }
  }
  return count;
}

std::string tag(const std::string& name, const std::string& text) {
  return fmt::format("<{0}>{1}</{0}>", name, text);
}

std::string steps(const std::string& name, const YAML::Node& number, double step) {
  return tag(name, fmt::format("{}", std::llround(number.as<double>() / step)));
}

/// Days of the year before the date, counted by hand.
long minute_of_year(const std::string& start) {
  const int year = std::stoi(start.substr(0, 4));
  const int month = std::stoi(start.substr(5, 2));
  const bool leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
  const int lengths[] = {31, leap ? 29 : 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  long days = std::stoi(start.substr(8, 2)) - 1;
  for (int i = 0; i + 1 < month; ++i) {
    days += lengths[i];
  }
  return days * 1440 + std::stoi(start.substr(11, 2)) * 60 + std::stoi(start.substr(14, 2));
}

std::string headings(const YAML::Node& described) {
  std::string slices(16, described.IsScalar() ? '1' : '0');
  for (const YAML::Node& degrees : described) {
    slices.at(static_cast<std::size_t>(degrees.as<double>() * 16 / 360)) = '1';
  }
  return slices;
}

void expect_region(std::vector<std::string>& all, const YAML::Node& notice) {
  if (const YAML::Node circle = notice["circle"]) {
    all.push_back(tag("direction", headings(notice["headings"])));
    all.push_back(steps("lat", circle["latitude"], 1e-7) + steps("long", circle["longitude"], 1e-7));
    all.push_back(steps("radius", circle["radius"], 1) + "<units><meter/></units>");
    return;
  }
  const YAML::Node path = notice["path"];
  all.push_back(steps("lat", path["latitude"], 1e-7) + steps("long", path["longitude"], 1e-7));
  all.push_back(steps("laneWidth", path["width"], 0.01));
  all.push_back(path["both-ways"].as<bool>() ? "<both/>" : "<forward/>");
  all.push_back(tag("direction", headings(notice["headings"])));
  for (const YAML::Node& point : path["points"]) {
    all.push_back(steps("x", point[0], 0.01) + steps("y", point[1], 0.01));
  }
  all.push_back("</nodes>");
}

std::vector<std::string> expected_of(const YAML::Node& notice) {
  const std::string start = notice["start"].as<std::string>();
  std::vector<std::string> all{"<TravelerInformation><msgCnt>0</msgCnt>"};
  all.push_back(notice["frame"].as<std::string>() == "road sign" ? "<roadSignage/>" : "<advisory/>");
  all.push_back(tag("startYear", start.substr(0, 4)) +
                tag("startTime", std::to_string(minute_of_year(start))));
  all.push_back(tag("duratonTime", notice["minutes"] ? notice["minutes"].as<std::string>() : "32000"));
  all.push_back(tag("priority", notice["priority"].as<std::string>()));
  expect_region(all, notice);
  const std::map<std::string, std::string> content{{"work zone", "workZone"},
                                                   {"sign", "genericSign"},
                                                   {"speed limit", "speedLimit"},
                                                   {"exit", "exitService"},
                                                   {"advisory", "advisory"}};
  const std::string& kind = content.at(notice["content"].as<std::string>());
  all.push_back("<content><" + kind + ">");
  for (const YAML::Node& phrase : notice["say"]) {
    int code = 0;
    const bool is_code = YAML::convert<int>::decode(phrase, code);
    all.push_back(tag("item", tag(is_code ? "itis" : "text", phrase.Scalar())));
  }
  all.push_back("</" + kind + "></content>");
  return all;
}

int check(const std::string& decoder, const std::filesystem::path& payloads,
          const std::filesystem::path& work) {
  std::string sample;
  for (std::size_t i = 0; published[i] != '\0'; i += 2) {
    sample.push_back(static_cast<char>(std::stoi(std::string(published + i, 2), nullptr, 16)));
  }
  int count = differ("published message", decoded(decoder, work, sample),
                     {"<roadSignage/>", "<duratonTime>32000<", "<units><meter/>", "<speedLimit>",
                      "<itis>12569<", "<itis>8720<", "</TravelerInformation>"});
  int notices = 0;
  for (const auto& each : YAML::LoadFile(payloads / "notices.yaml")["notices"]) {
    const std::string name = each.first.as<std::string>();
    ++notices;
    try {
      const std::string message = message_in(hex_file(payloads / (name + ".hex")), 31);
      count += differ(name, decoded(decoder, work, message), expected_of(each.second));
    } catch (const std::exception& fault) {
      ++count;
      fmt::print("{}: {}\n", name, fault.what());
    }
  }
  fmt::print("{} notices read, {} values not as described\n", notices, count);
  return count == 0 && notices > 0 ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4) {
    fmt::print(stderr, "Usage: notice_check DECODER PAYLOADS FOLDER-FOR-RESULTS\n");
    return 2;
  }
  try {
    return check(argv[1], argv[2], argv[3]);
  } catch (const std::exception& fault) {
    fmt::print("{}\n", fault.what());
    return 1;
  }
}
