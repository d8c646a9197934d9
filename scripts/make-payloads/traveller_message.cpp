#include "traveller_message.h"

namespace vergeset::payloads {

namespace {

void put_circle(Bits& bits, const Circle& circle, std::uint16_t headings) {
  bits.flag(false);                      // extension of GeographicalPath
  bits.raw(0b00000001, 8);               // of its optional fields before the last, only `description`
  bits.flag(false);                      // regional
  bits.extensible("description", 1, 2);  // geometry
  bits.flag(false);                      // extension of GeometricProjection
  bits.raw(0, 3);                        // extent, laneWidth, regional
  bits.raw(headings, 16);
  put_position(bits, circle.centre);
  bits.number("radius", circle.radius, 0, 4095);
  bits.number("units", 3, 0, 7);  // metres
}

void put_path(Bits& bits, const Path& path, std::uint16_t headings) {
  bits.flag(false);       // extension of GeographicalPath
  bits.flag(false);       // name
  bits.flag(false);       // id
  bits.raw(0b111111, 6);  // anchor, laneWidth, directionality, closedPath, direction, description
  bits.flag(false);       // regional
  put_position(bits, path.anchor);
  bits.number("laneWidth", path.lane_width, 0, 32767);
  bits.number("directionality", path.both_ways ? 3 : 1, 0, 3);
  bits.flag(false);  // not closed
  bits.raw(headings, 16);
  bits.extensible("description", 0, 2);  // path
  bits.flag(false);                      // scale
  bits.flag(false);                      // offset: xy
  put_nodes(bits, path.nodes);
}

void put_phrases(Bits& bits, const Traveller& traveller) {
  const bool advisory = traveller.content == ContentType::advisory;
  bits.number("content", static_cast<int>(traveller.content), 0, 4);
  bits.number("phrases", static_cast<std::int64_t>(traveller.phrases.size()), 1, advisory ? 100 : 16);
  for (const Phrase& phrase : traveller.phrases) {
    const int* code = std::get_if<int>(&phrase);
    bits.flag(code == nullptr);
    if (code != nullptr) {
      bits.number("ITIS code", *code, 0, 65535);
    } else {
      bits.ia5("text", std::get<std::string>(phrase), 1, advisory ? 500 : 16);
    }
  }
}

void put_frame(Bits& bits, const Traveller& traveller) {
  bits.flag(false);  // extension
  bits.flag(traveller.year.has_value());
  bits.flag(false);  // url
  bits.number("sspTimRights", 0, 0, 31);
  bits.extensible("frameType", static_cast<int>(traveller.frame), 3);
  bits.flag(false);  // msgId: furtherInfoID
  bits.number("furtherInfoID", traveller.further_info, 0, 65535);
  if (traveller.year) {
    bits.number("startYear", *traveller.year, 0, 4095);
  }
  bits.number("startTime", traveller.minute, 0, 527040);
  bits.number("duratonTime", traveller.duration, 0, 32000);
  bits.number("priority", traveller.priority, 0, 7);
  bits.number("sspLocationRights", 0, 0, 31);
  bits.number("regions", 1, 1, 16);
  if (const auto* circle = std::get_if<Circle>(&traveller.region)) {
    put_circle(bits, *circle, traveller.headings);
  } else {
    put_path(bits, std::get<Path>(traveller.region), traveller.headings);
  }
  bits.number("sspMsgRights1", 0, 0, 31);
  bits.number("sspMsgRights2", 0, 0, 31);
  put_phrases(bits, traveller);
}

}  // namespace

std::string encode(const Traveller& traveller) {
  Bits bits;
  bits.flag(false);  // extension
  bits.raw(0, 4);    // timeStamp, packetID, urlB, regional
  bits.number("msgCnt", traveller.count, 0, 127);
  bits.number("dataFrames", 1, 1, 8);
  put_frame(bits, traveller);
  return message_frame(31, bits.octets());
}

}  // namespace vergeset::payloads
