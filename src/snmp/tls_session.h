#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "snmp/certified.h"

namespace vergeset::snmp {

/// One connection of TLS or DTLS that a unit has begun (RFC 6353 5.4): octets go in and come out, and whole
/// messages. Pure: it has no socket, and the time is OpenSSL's own for what DTLS sends again.
///
/// Of DTLS a connection costs memory only once its address has answered a cookie (RFC 6347 4.2.1). A message
/// has at most 16,384 octets, as one record has.
class TlsSession {
 public:
  enum class State {
    shaking,    ///< hands
    connected,  ///< the unit's certificate was accepted
    refused,    ///< the unit's certificate, or it showed none
    failed,     ///< the handshake, or the unit broke the connection off with an alert
    malformed,  ///< what came is no message
    closed,     ///< by the unit, as it should
  };
  /// Whether the certificate is one of a unit that may be here.
  using Judge = std::function<bool(X509_STORE_CTX&)>;

  /// Over TCP.
  static std::unique_ptr<TlsSession> over_stream(SSL_CTX& context, Judge judge);

  /// What a first datagram over UDP gives.
  struct Greeted {
    std::unique_ptr<TlsSession> session;  ///< where it held the cookie of `peer`
    std::vector<std::string> answer;      ///< to be sent: a cookie, or what the session has to say first
  };
  static Greeted greet(SSL_CTX& context, std::string_view datagram, const std::string& peer, Judge judge);
  /// Whether a datagram begins a connection anew: a ClientHello in the clear.
  static bool begins(std::string_view datagram);

  ~TlsSession();
  TlsSession(const TlsSession&) = delete;
  TlsSession& operator=(const TlsSession&) = delete;

  State state() const { return state_; }
  bool was_connected() const { return connected_; }
  bool over() const { return state_ != State::shaking && state_ != State::connected; }
  /// Of a handshake that failed: what the unit or OpenSSL says of it.
  std::string why() const;

  /// Octets that came: of a stream any, of UDP one datagram.
  void put(std::string_view octets);
  /// Sends again what of a handshake was not answered in time; nothing over TCP.
  void again();
  /// Messages that are whole, in their order.
  std::vector<std::string> take_messages();
  void send(std::string_view message);
  /// Tells the unit that nothing more comes.
  void close();
  /// What is to be sent: datagrams, or pieces of the stream.
  std::vector<std::string> take_out();

 private:
  struct Box;
  TlsSession(SSL_CTX& context, bool datagrams, Judge judge);
  static int verify(X509_STORE_CTX* store, void*);
  static void note_alert(const SSL* ssl, int where, int what);
  static int make_cookie(SSL* ssl, unsigned char* cookie, unsigned* size);
  static int check_cookie(SSL* ssl, const unsigned char* cookie, unsigned size);
  void go_on();
  void read_all();
  void split();
  void end(int result);

  Judge judge_;
  bool datagrams_;
  State state_ = State::shaking;
  std::unique_ptr<Box> box_;
  std::string peer_;
  bool connected_ = false;
  bool judged_ = false;  ///< the certificate, and not accepted
  int alert_ = 0;        ///< that came from the unit
  std::string reason_;
  std::string stream_;
  std::vector<std::string> messages_;
  Owned<SSL> ssl_;
};

}  // namespace vergeset::snmp
