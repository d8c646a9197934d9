#include "change/reach_way.h"

#include <fmt/format.h>

#include <algorithm>

namespace vergeset::change {

namespace {

using snmp::Echo;
using snmp::OwnAddress;
using snmp::Way;
using State = Hold::State;

constexpr int three_numbers = 24;

Hold address(State state, std::string what, std::string next = {}) {
  return {Rung::address, state, std::move(what), std::move(next)};
}

std::string in_inventory(const fleet::Unit& unit) {
  return unit.place.str();
}

/// "10.77.1." of "10.77.1.4".
std::string first_three(const std::string& address) {
  return address.substr(0, address.rfind('.') + 1);
}

/// An address beside the unit's that no unit of the fleet and nothing of this machine has.
std::string free_beside(const fleet::Fleet& fleet, const Way& way) {
  const auto taken = [&](const std::string& address) {
    return address == way.address ||
           std::any_of(way.own.begin(), way.own.end(),
                       [&](const OwnAddress& one) { return one.address == address; }) ||
           std::any_of(fleet.units.begin(), fleet.units.end(),
                       [&](const fleet::Unit& unit) { return unit.host == address; });
  };
  for (int last = 250; last > 1; --last) {
    std::string address = first_three(way.address) + std::to_string(last);
    if (!taken(address)) return address;
  }
  return first_three(way.address) + "x";
}

/// What a laptop at the unit's own cable needs.
std::string own_address_advice(const fleet::Fleet& fleet, const Way& way) {
  if (way.v6) return "give this machine an address on the unit's subnet, or a route to it";
  return fmt::format("the address {}, if nothing else has it, and the mask 255.255.255.0",
                     free_beside(fleet, way));
}

/// The addresses that a way could be looked for from: interfaces that someone has switched on.
std::vector<const OwnAddress*> in_use(const Way& way) {
  std::vector<const OwnAddress*> all;
  for (const OwnAddress& one : way.own) {
    if (one.up && !one.loopback && !one.link_local) all.push_back(&one);
  }
  return all;
}

Hold switched_off(const OwnAddress& one) {
  return address(
      State::ends,
      fmt::format("{} has {}, on the unit's subnet, but is switched off", one.interface, one.address),
      fmt::format("switch {} on, as by: ip link set {} up", one.interface, one.interface));
}

Hold no_way(const fleet::Fleet& fleet, const Way& way) {
  for (const OwnAddress& one : way.own) {
    if (one.holds && !one.up) return switched_off(one);
  }
  const std::vector<const OwnAddress*> own = in_use(way);
  if (own.empty()) {
    return address(
        State::ends,
        fmt::format("no way to {}: this machine has no {} address", way.address, way.v6 ? "IPv6" : "IPv4"),
        way.v6 ? own_address_advice(fleet, way)
               : "plug the cable in, and give it " + own_address_advice(fleet, way));
  }
  const auto hand_set = std::find_if(own.begin(), own.end(),
                                     [](const OwnAddress* one) { return one->prefix == three_numbers; });
  if (way.v6 || hand_set == own.end()) {
    const OwnAddress& one = *own.front();
    return address(
        State::ends,
        fmt::format("no way to {}: {} is on {}, which does not have it, and no router is known", way.address,
                    one.interface, one.subnet),
        way.v6 ? own_address_advice(fleet, way)
               : fmt::format("give {} {}; or set a router", one.interface, own_address_advice(fleet, way)));
  }
  const OwnAddress& one = **hand_set;
  return address(
      State::ends,
      fmt::format("no way to {}: {} has {}, and with the mask 255.255.255.0 the first three numbers of both "
                  "addresses must be equal",
                  way.address, one.interface, one.address),
      fmt::format("give {} {}", one.interface, own_address_advice(fleet, way)));
}

std::string way_text(const Way& way) {
  switch (way.kind) {
    case Way::Kind::by_router:
      return fmt::format("{} is reached by way of {} on {}", way.address, way.router, way.interface);
    case Way::Kind::here:
      return fmt::format("{} is this machine itself", way.address);
    default:
      break;
  }
  if (way.subnet.empty()) return fmt::format("{} is straight on {}, by a route", way.address, way.interface);
  return fmt::format("{} is on {}'s own subnet {}", way.address, way.interface, way.subnet);
}

/// Where the unit may be on a cable at this machine, and its datagrams go elsewhere.
std::string if_on_a_cable(const fleet::Fleet& fleet, const Way& way) {
  if (way.kind != Way::Kind::by_router || way.v6) return {};
  return fmt::format(
      "; if it is on a cable at this machine, give that interface {}: the first three numbers must be the "
      "unit's",
      own_address_advice(fleet, way));
}

/// No neighbour has the address: this machine itself says so.
bool no_neighbour(const Way& way, const Echo& echo) {
  return echo.kind == Echo::Kind::unreachable && !echo.from.empty() &&
         (echo.from == way.from || std::any_of(way.own.begin(), way.own.end(), [&](const OwnAddress& one) {
            return one.address == echo.from;
          }));
}

std::string neighbour_text(const Way& way) {
  if (way.kind == Way::Kind::by_router) {
    return fmt::format("the router {} does not answer on {}", way.router, way.interface);
  }
  return fmt::format("nothing on {} has the address {} (no answer to {})", way.interface, way.address,
                     way.v6 ? "neighbour solicitation" : "ARP");
}

/// "UDP port 161"; of TLS "TCP port 10161".
std::string port_text(const fleet::Fleet& fleet, const fleet::Unit& unit) {
  const auto found = fleet.credentials.find(unit.credential);
  const bool tcp = found != fleet.credentials.end() &&
                   found->second.kind == fleet::Credential::Kind::certificate &&
                   !found->second.certificate.datagrams;
  return fmt::format("{} port {}", tcp ? "TCP" : "UDP", unit.port);
}

Hold silent_port(const fleet::Fleet& fleet, const Climbed& climbed, const snmp::Error& error) {
  const std::string port = port_text(fleet, *climbed.unit);
  const Way& way = climbed.way;
  const bool echoes = climbed.echo && climbed.echo->kind == Echo::Kind::answered;
  if (echoes) {
    return {Rung::port, State::ends, fmt::format("{} is silent, though the unit answers ping", port),
            fmt::format("see whether SNMP is on at the unit, lets in {}, and no firewall drops it",
                        way.from.empty() ? "this machine" : way.from)};
  }
  if (climbed.echo && no_neighbour(way, *climbed.echo)) {
    return {Rung::port, State::ends, fmt::format("{} is silent: {}", port, neighbour_text(way)),
            "see to power, cable and link lights, and to the address in " + in_inventory(*climbed.unit)};
  }
  return {Rung::port, State::ends, fmt::format("{} is silent: {}", port, error.text),
          "see to power, cable and link lights, the address in " + in_inventory(*climbed.unit) +
              ", and firewalls between" + if_on_a_cable(fleet, way)};
}

}  // namespace

Hold address_hold(const fleet::Fleet& fleet, const fleet::Unit& unit, const Way& way) {
  if (!way.fault.empty()) {
    return address(State::ends, way.fault, "correct the unit's address in " + in_inventory(unit));
  }
  if (way.kind == Way::Kind::none) return no_way(fleet, way);
  if (way.kind == Way::Kind::not_told) {
    return address(State::passed,
                   fmt::format("this system does not say how it gets to {}: {}", way.address, way.why));
  }
  if (!way.link) {
    return address(State::ends, fmt::format("{}, but {} has no link", way_text(way), way.interface),
                   "plug the cable in at both ends, and see to the unit's power and the link lights");
  }
  return address(State::holds, way_text(way));
}

Hold ping_hold(const Way& way, const Echo& echo) {
  const auto passed = [](std::string what, std::string next = {}) {
    return Hold{Rung::ping, State::passed, std::move(what), std::move(next)};
  };
  switch (echo.kind) {
    case Echo::Kind::answered: {
      const double ms = static_cast<double>(echo.round_trip.count()) / 1000;
      return {Rung::ping, State::holds, fmt::format("answered in {:.{}f} ms", ms, ms < 1 ? 2 : 1), {}};
    }
    case Echo::Kind::forbidden:
      return passed("not asked: this system lets this user send none (net.ipv4.ping_group_range)",
                    "to allow it: sysctl -w net.ipv4.ping_group_range=\"0 2147483647\"");
    case Echo::Kind::failed:
      return passed("not asked: " + echo.why);
    case Echo::Kind::unreachable:
      if (no_neighbour(way, echo)) return passed(neighbour_text(way));
      return passed(fmt::format("{} says: {}", echo.from.empty() ? "the network" : echo.from, echo.why));
    case Echo::Kind::silent:
      break;
  }
  return passed(
      fmt::format("no answer to {} tries, which a firewall alone may be the reason of", echo.tries));
}

Hold port_hold(const fleet::Fleet& fleet, const Climbed& climbed, const std::optional<snmp::Error>& error) {
  const fleet::Unit& unit = *climbed.unit;
  const bool heard = !error || error->failure == snmp::Failure::bad_answer;
  if (heard) return {Rung::port, State::holds, port_text(fleet, unit) + " answers", {}};
  if (error->refused) {
    return {Rung::port, State::ends, port_text(fleet, unit) + " is closed: nothing listens there",
            "switch SNMP on at the unit, or correct the port in " + in_inventory(unit)};
  }
  if (error->failure == snmp::Failure::no_answer) return silent_port(fleet, climbed, *error);
  return {Rung::port, State::ends, error->text, "see whether a firewall forbids it, and what listens there"};
}

}  // namespace vergeset::change
