/*
 * The floor under vergeset's cost: the least that a careful program on net-snmp's single-session API spends
 * to send the same requests to the same units and to take their answers, of which it makes nothing.
 *
 *     floor --units FILE --requests FILE [--at-once N] [--discoveries N] [--engines FILE] [--user NAME]
 *
 * The secrets are in LARKMOOR_AUTH and LARKMOOR_PRIV (SHA-256, AES-128), as of the fleet that make-fleet
 * makes.
 *
 * --units: one unit a line, "HOST PORT", or "HOST PORT ENGINE-ID BOOTS TIME NOTED" where the engine is known
 * (hex; its snmpEngineBoots and snmpEngineTime at the second NOTED of this machine's clock).
 * --engines: writes such a file of all units that were spoken to.
 * --requests: what to send to each unit, in order, one at a time (record_requests writes it):
 *     OPEN                       a conversation begins; the first --discoveries of a unit's ask for its
 * engine GET OID... BULK ONCE REPETITIONS OID... SET {OID TYPE VALUE}...    TYPE is the ASN.1 tag in decimal;
 * VALUE a number, or x and hex octets Prints: requests sent (discoveries among them), answers, units, units
 * that left one unanswered, error-statuses.
 *
 * How it is kept cheap: no configuration, MIB or state file is touched; the keys Ku are derived once; one
 * session is open for each of the --at-once units at hand; a request leaves as soon as the answer to the last
 * one is in. net-snmp's lists of users and engines are searched one by one and only grow: a unit's user is in
 * the list during the calls for this unit alone, and its engine is taken out once, when the unit is done.
 */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/epoll.h>
#include <time.h>

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wpedantic"
#pragma GCC diagnostic ignored "-Wconversion"
#include <net-snmp/library/large_fd_set.h>
#include <net-snmp/library/lcd_time.h>
#include <net-snmp/library/snmpusm.h>
#include <net-snmp/net-snmp-config.h>
#include <net-snmp/net-snmp-includes.h>
#pragma GCC diagnostic pop

enum { timeout_us = 1500000, retries = 3, scan_ms = 250, key_size = 32 /* SHA-256 */, longest_engine = 32 };

struct binding {
  oid name[MAX_OID_LEN];
  size_t name_length;
  u_char type;
  long number;
  u_char* octets; /* NULL: a number */
  size_t size;
};

enum what { OPEN, SEND };

struct request {
  enum what what;
  int command;
  int non_repeaters;
  int repetitions;
  struct binding* bindings;
  size_t count;
};

struct unit {
  char host[64];
  int port;
  u_char engine[longest_engine];
  size_t engine_size; /* 0: not known */
  u_int boots;
  u_int time;
  long noted;

  /* while it is at hand */
  void* session;
  struct usmUser* user;
  size_t next; /* request */
  int opened;  /* conversations so far */
  int waiting; /* for an answer */
  int failed;
};

static struct request* requests;
static size_t request_count;
static struct unit* units;
static size_t unit_count;
static int discoveries;
static const char* user_name = "vergeset";
static u_char auth_key[USM_AUTH_KU_LEN];
static u_char priv_key[USM_AUTH_KU_LEN];
static const oid* auth_oid;
static size_t auth_oid_size;
static const oid* priv_oid;
static size_t priv_oid_size;

static struct unit** at_hand;
static size_t at_hand_count;
static int epoll_set;
static unsigned long sent, answered, refused, unanswered;

static void die(const char* what) {
  fprintf(stderr, "floor: %s\n", what);
  exit(2);
}

static void* must(void* memory) {
  if (memory == NULL) die("out of memory");
  return memory;
}

/* ---- what to send, and to whom ---- */

static size_t read_hex(const char* text, u_char* out, size_t room) {
  size_t size = 0;
  unsigned octet;
  for (; size < room && sscanf(text, "%2x", &octet) == 1; text += 2) out[size++] = (u_char)octet;
  return size;
}

static const char* word(char** line) {
  char* const found = strsep(line, " \n");
  return found != NULL && *found != '\0' ? found : NULL;
}

static const char* needed_word(char** line) {
  const char* const found = word(line);
  if (found == NULL) die("a request is cut short");
  return found;
}

static size_t read_oid(const char* text, oid* arcs) {
  size_t size = 0;
  char* end = NULL;
  for (; size < MAX_OID_LEN; text = end + 1) {
    arcs[size++] = strtoul(text, &end, 10);
    if (end == text) return 0;
    if (*end != '.') break;
  }
  return *end == '\0' ? size : 0;
}

static struct binding* add_binding(struct request* request, const char* name) {
  request->bindings = must(realloc(request->bindings, (request->count + 1) * sizeof *request->bindings));
  struct binding* const one = &request->bindings[request->count++];
  memset(one, 0, sizeof *one);
  one->type = ASN_NULL;
  one->name_length = read_oid(name, one->name);
  if (one->name_length == 0) die("an object identifier cannot be read");
  return one;
}

static void read_value(struct binding* one, char** line) {
  one->type = (u_char)atoi(needed_word(line));
  const char* const value = needed_word(line);
  if (*value != 'x') {
    one->number = atol(value);
    return;
  }
  const size_t size = strlen(value + 1) / 2;
  one->octets = must(malloc(size + 1));
  one->size = read_hex(value + 1, one->octets, size);
}

static void read_request(char* line) {
  requests = must(realloc(requests, (request_count + 1) * sizeof *requests));
  struct request* const request = &requests[request_count++];
  memset(request, 0, sizeof *request);
  const char* const verb = needed_word(&line);
  request->what = SEND;
  if (strcmp(verb, "OPEN") == 0) {
    request->what = OPEN;
    return;
  }
  if (strcmp(verb, "BULK") == 0) {
    request->command = SNMP_MSG_GETBULK;
    request->non_repeaters = atoi(needed_word(&line));
    request->repetitions = atoi(needed_word(&line));
  } else if (strcmp(verb, "GET") == 0) {
    request->command = SNMP_MSG_GET;
  } else if (strcmp(verb, "SET") == 0) {
    request->command = SNMP_MSG_SET;
  } else {
    die("a request is none of OPEN, GET, BULK, SET");
  }
  for (const char* name; (name = word(&line)) != NULL;) {
    struct binding* const one = add_binding(request, name);
    if (request->command == SNMP_MSG_SET) read_value(one, &line);
  }
}

static void read_unit(char* line) {
  units = must(realloc(units, (unit_count + 1) * sizeof *units));
  struct unit* const unit = &units[unit_count++];
  memset(unit, 0, sizeof *unit);
  char engine[2 * longest_engine + 1];
  const int fields = sscanf(line, "%63s %d %64s %u %u %ld", unit->host, &unit->port, engine, &unit->boots,
                            &unit->time, &unit->noted);
  if (fields == 6) {
    unit->engine_size = read_hex(engine, unit->engine, sizeof unit->engine);
  } else if (fields != 2) {
    die("a unit is neither HOST PORT nor HOST PORT ENGINE-ID BOOTS TIME NOTED");
  }
}

static void read_lines(const char* path, void (*take)(char*)) {
  FILE* const file = fopen(path, "r");
  if (file == NULL) {
    fprintf(stderr, "floor: %s: %s\n", path, strerror(errno));
    exit(2);
  }
  char* line = NULL;
  size_t room = 0;
  while (getline(&line, &room, file) > 0) take(line);
  free(line);
  fclose(file);
}

/* ---- the library ---- */

static void make_key(const char* variable, u_char* key) {
  const char* const secret = getenv(variable);
  size_t size = USM_AUTH_KU_LEN;
  if (secret == NULL) die("LARKMOOR_AUTH and LARKMOOR_PRIV hold the secrets");
  if (generate_Ku(auth_oid, (u_int)auth_oid_size, (const u_char*)secret, strlen(secret), key, &size) !=
          SNMPERR_SUCCESS ||
      size != key_size) {
    die("no key can be made of a secret");
  }
}

static void start_library(void) {
  static const int off[] = {NETSNMP_DS_LIB_DONT_READ_CONFIGS, NETSNMP_DS_LIB_DONT_PERSIST_STATE,
                            NETSNMP_DS_LIB_DISABLE_PERSISTENT_LOAD, NETSNMP_DS_LIB_DISABLE_PERSISTENT_SAVE,
                            NETSNMP_DS_LIB_DONT_LOAD_HOST_FILES};
  for (size_t i = 0; i < sizeof off / sizeof *off; ++i)
    netsnmp_ds_set_boolean(NETSNMP_DS_LIBRARY_ID, off[i], 1);
  netsnmp_ds_set_string(NETSNMP_DS_LIBRARY_ID, NETSNMP_DS_LIB_APPTYPE, "floor");
  netsnmp_register_loghandler(NETSNMP_LOGHANDLER_NONE, LOG_DEBUG);
  init_snmpv3("floor");
  /* Makes the nameless user that discovery needs. */
  snmp_call_callbacks(SNMP_CALLBACK_LIBRARY, SNMP_CALLBACK_POST_PREMIB_READ_CONFIG, NULL);
  auth_oid = sc_get_auth_oid(NETSNMP_USMAUTH_HMAC192SHA256, &auth_oid_size);
  priv_oid = sc_get_priv_oid(USM_CREATE_USER_PRIV_AES, &priv_oid_size);
  make_key("LARKMOOR_AUTH", auth_key);
  make_key("LARKMOOR_PRIV", priv_key);
}

/* free_enginetime() of net-snmp 5.9.3 empties the bucket that an engine falls into: the others at hand that
   share it are put back as they were. */
static void forget_engine(struct unit* gone) {
  static struct unit** others;
  static enginetime* kept;
  if (others == NULL) {
    others = must(calloc(at_hand_count, sizeof *others));
    kept = must(calloc(at_hand_count, sizeof *kept));
  }
  size_t count = 0;
  const int bucket = hash_engineID(gone->engine, (u_int)gone->engine_size);
  for (size_t i = 0; i < at_hand_count; ++i) {
    struct unit* const other = at_hand[i];
    if (other == NULL || other == gone || other->user == NULL) continue;
    if (hash_engineID(other->engine, (u_int)other->engine_size) != bucket) continue;
    const Enginetime entry = search_enginetime_list(other->engine, (u_int)other->engine_size);
    if (entry == NULL) continue;
    others[count] = other;
    kept[count++] = *entry;
  }
  free_enginetime(gone->engine, gone->engine_size);
  for (size_t i = 0; i < count; ++i) {
    set_enginetime(others[i]->engine, (u_int)others[i]->engine_size, kept[i].engineBoot, kept[i].engineTime,
                   FALSE);
    const Enginetime entry = search_enginetime_list(others[i]->engine, (u_int)others[i]->engine_size);
    entry->lastReceivedEngineTime = kept[i].lastReceivedEngineTime;
    entry->authenticatedFlag = kept[i].authenticatedFlag;
  }
}

static void show_user(struct unit* unit) {
  if (unit->user != NULL) usm_add_user(unit->user);
}

static void hide_user(struct unit* unit) {
  if (unit->user == NULL) return;
  usm_remove_user(unit->user);
  unit->user->next = unit->user->prev = NULL;
}

/* Its keys are localized here (RFC 3414 2.6): once a unit. */
static void make_user(struct unit* unit) {
  netsnmp_session wanted;
  snmp_sess_init(&wanted);
  wanted.version = SNMP_VERSION_3;
  wanted.securityModel = SNMP_SEC_MODEL_USM;
  wanted.securityName = (char*)(size_t)user_name;
  wanted.securityNameLen = strlen(user_name);
  wanted.securityEngineID = unit->engine;
  wanted.securityEngineIDLen = unit->engine_size;
  wanted.securityAuthProto = (oid*)(size_t)auth_oid;
  wanted.securityAuthProtoLen = auth_oid_size;
  memcpy(wanted.securityAuthKey, auth_key, key_size);
  wanted.securityAuthKeyLen = key_size;
  wanted.securityPrivProto = (oid*)(size_t)priv_oid;
  wanted.securityPrivProtoLen = priv_oid_size;
  memcpy(wanted.securityPrivKey, priv_key, key_size);
  wanted.securityPrivKeyLen = key_size;
  if (usm_create_user_from_session(&wanted) != SNMPERR_SUCCESS) die("net-snmp refuses the user");
  unit->user = usm_get_user(unit->engine, unit->engine_size, user_name);
  hide_user(unit);
}

/* From now on the user speaks to the engine, authenticated and private. */
static void join(struct unit* unit) {
  netsnmp_session* const session = snmp_sess_session(unit->session);
  make_user(unit);
  session->securityName = must(strdup(user_name));
  session->securityNameLen = strlen(user_name);
  session->securityLevel = SNMP_SEC_LEVEL_AUTHPRIV;
  if (session->securityEngineIDLen > 0) return;
  session->securityEngineID = must(netsnmp_memdup(unit->engine, unit->engine_size));
  session->securityEngineIDLen = unit->engine_size;
}

/* ---- one unit ---- */

static netsnmp_pdu* make_pdu(const struct request* request) {
  netsnmp_pdu* const pdu = must(snmp_pdu_create(request->command));
  if (request->command == SNMP_MSG_GETBULK) {
    pdu->non_repeaters = request->non_repeaters;
    pdu->max_repetitions = request->repetitions;
  }
  for (size_t i = 0; i < request->count; ++i) {
    const struct binding* const one = &request->bindings[i];
    const int number = one->octets == NULL && one->type != ASN_NULL;
    const void* const value = number ? (const void*)&one->number : one->octets;
    snmp_pdu_add_variable(pdu, one->name, one->name_length, one->type, value,
                          number ? sizeof one->number : one->size);
  }
  return pdu;
}

static netsnmp_pdu* make_discovery(void) {
  netsnmp_pdu* const pdu = must(snmp_pdu_create(SNMP_MSG_GET));
  pdu->version = SNMP_VERSION_3;
  pdu->securityName = must(strdup(""));
  pdu->securityLevel = SNMP_SEC_LEVEL_NOAUTH;
  pdu->securityModel = SNMP_SEC_MODEL_USM;
  return pdu;
}

static int take(int operation, netsnmp_session* session, int id, netsnmp_pdu* pdu, void* magic) {
  struct unit* const unit = magic;
  (void)session;
  (void)id;
  if (operation == NETSNMP_CALLBACK_OP_TIMED_OUT) {
    unit->failed = 1;
    unit->waiting = 0;
    return 1;
  }
  if (operation != NETSNMP_CALLBACK_OP_RECEIVED_MESSAGE) return 0;
  const int discovered = pdu->command == SNMP_MSG_REPORT && unit->user == NULL &&
                         pdu->securityEngineIDLen <= sizeof unit->engine;
  if (discovered) {
    memcpy(unit->engine, pdu->securityEngineID, pdu->securityEngineIDLen);
    unit->engine_size = pdu->securityEngineIDLen;
  } else if (pdu->command != SNMP_MSG_RESPONSE) {
    /* A report on a message of ours: after notInTimeWindow the library sends anew by itself. */
    if (unit->user != NULL) return 0;
    unit->failed = 1;
  } else if (pdu->errstat != SNMP_ERR_NOERROR) {
    ++refused;
  }
  if (!unit->failed) ++answered;
  unit->waiting = 0;
  return 1;
}

static void send_pdu(struct unit* unit, netsnmp_pdu* pdu) {
  snmp_sess_session(unit->session)->retries = pdu->command == SNMP_MSG_SET ? 0 : retries;
  if (snmp_sess_async_send(unit->session, pdu, take, unit) == 0) {
    snmp_free_pdu(pdu);
    unit->failed = 1;
    return;
  }
  ++sent;
  unit->waiting = 1;
}

static void open_session(struct unit* unit) {
  netsnmp_session wanted;
  char address[96];
  snmp_sess_init(&wanted);
  wanted.version = SNMP_VERSION_3;
  wanted.securityModel = SNMP_SEC_MODEL_USM;
  wanted.securityLevel = SNMP_SEC_LEVEL_NOAUTH;
  wanted.timeout = timeout_us;
  snprintf(address, sizeof address, "udp:%s:%d", unit->host, unit->port);
  netsnmp_transport* const transport = netsnmp_tdomain_transport_full("snmp", address, 0, NULL, NULL);
  unit->session = transport != NULL ? snmp_sess_add(&wanted, transport, NULL, NULL) : NULL;
  if (unit->session == NULL) die("no session can be opened");
  snmp_sess_session(unit->session)->flags |= SNMP_FLAGS_DONT_PROBE;
  struct epoll_event event = {.events = EPOLLIN, .data = {.ptr = unit}};
  if (epoll_ctl(epoll_set, EPOLL_CTL_ADD, transport->sock, &event) != 0) die("epoll_ctl");
}

static void close_session(struct unit* unit) {
  snmp_sess_close(unit->session); /* closes the socket, which leaves the epoll set by it */
  unit->session = NULL;
  if (unit->engine_size == 0) return;
  const Enginetime entry = search_enginetime_list(unit->engine, (u_int)unit->engine_size);
  if (entry != NULL) {
    unit->boots = entry->engineBoot;
    unit->time = entry->engineTime;
    unit->noted = time(NULL) - ((long)snmpv3_local_snmpEngineTime() - (long)entry->lastReceivedEngineTime);
  }
  forget_engine(unit);
  if (unit->user != NULL) usm_free_user(unit->user);
  unit->user = NULL;
}

/* A conversation that asks for the engine knows nothing of the one before it. */
static void discover(struct unit* unit) {
  if (unit->user != NULL) {
    hide_user(unit);
    close_session(unit);
    unit->engine_size = 0;
    open_session(unit);
  }
  send_pdu(unit, make_discovery());
}

/* Sends what comes next; nothing where the unit is done. The user is shown. */
static void go_on(struct unit* unit) {
  while (!unit->waiting && !unit->failed && unit->next < request_count) {
    const struct request* const request = &requests[unit->next++];
    if (request->what == SEND)
      send_pdu(unit, make_pdu(request));
    else if (unit->opened++ < discoveries)
      discover(unit);
  }
}

/* The engine's clock stands as it was noted, and has gone on since. */
static void use_known_engine(struct unit* unit) {
  const u_int since = (u_int)(time(NULL) - unit->noted);
  set_enginetime(unit->engine, (u_int)unit->engine_size, unit->boots, unit->time + since, TRUE);
  join(unit);
}

static void start(struct unit* unit) {
  open_session(unit);
  if (unit->engine_size > 0 && discoveries == 0) use_known_engine(unit);
  show_user(unit);
  go_on(unit);
  hide_user(unit);
}

static void finish(struct unit* unit) {
  if (unit->failed) ++unanswered;
  close_session(unit);
}

static int done(const struct unit* unit) {
  return !unit->waiting && (unit->failed || unit->next == request_count);
}

static void read_answer(struct unit* unit) {
  static netsnmp_large_fd_set readable;
  if (readable.lfs_setptr == NULL) netsnmp_large_fd_set_init(&readable, FD_SETSIZE);
  const int socket = snmp_sess_transport(unit->session)->sock;
  netsnmp_large_fd_setfd(socket, &readable);
  show_user(unit);
  snmp_sess_read2(unit->session, &readable);
  netsnmp_large_fd_clr(socket, &readable);
  if (unit->engine_size > 0 && unit->user == NULL && !unit->failed) {
    join(unit);
    show_user(unit);
  }
  go_on(unit);
  hide_user(unit);
}

/* ---- all units ---- */

static void start_next(size_t place, size_t* next) {
  at_hand[place] = NULL;
  while (*next < unit_count && at_hand[place] == NULL) {
    struct unit* const unit = &units[(*next)++];
    at_hand[place] = unit;
    start(unit);
    if (!done(unit)) return;
    finish(unit);
    at_hand[place] = NULL;
  }
}

static void look_for_silence(void) {
  for (size_t i = 0; i < at_hand_count; ++i) {
    struct unit* const unit = at_hand[i];
    if (unit == NULL) continue;
    show_user(unit);
    snmp_sess_timeout(unit->session);
    hide_user(unit);
  }
}

static void run(void) {
  struct epoll_event events[64];
  size_t next = 0;
  size_t left = 0;
  for (size_t i = 0; i < at_hand_count; ++i) start_next(i, &next);
  time_t looked = time(NULL);
  do {
    const int count = epoll_wait(epoll_set, events, sizeof events / sizeof *events, scan_ms);
    for (int i = 0; i < count; ++i) read_answer(events[i].data.ptr);
    if (count <= 0 || time(NULL) > looked) {
      look_for_silence();
      looked = time(NULL);
    }
    left = 0;
    for (size_t i = 0; i < at_hand_count; ++i) {
      if (at_hand[i] != NULL && done(at_hand[i])) {
        finish(at_hand[i]);
        start_next(i, &next);
      }
      if (at_hand[i] != NULL) ++left;
    }
  } while (left > 0);
}

static void write_engines(const char* path) {
  FILE* const file = fopen(path, "w");
  if (file == NULL) die("the file of engines cannot be written");
  for (size_t i = 0; i < unit_count; ++i) {
    const struct unit* const unit = &units[i];
    fprintf(file, "%s %d ", unit->host, unit->port);
    for (size_t k = 0; k < unit->engine_size; ++k) fprintf(file, "%02x", unit->engine[k]);
    fprintf(file, " %u %u %ld\n", unit->boots, unit->time, unit->noted);
  }
  fclose(file);
}

int main(int argc, char** argv) {
  const char *units_file = NULL, *requests_file = NULL, *engines_file = NULL;
  at_hand_count = 64;
  for (int i = 1; i + 1 < argc; i += 2) {
    if (strcmp(argv[i], "--units") == 0)
      units_file = argv[i + 1];
    else if (strcmp(argv[i], "--requests") == 0)
      requests_file = argv[i + 1];
    else if (strcmp(argv[i], "--engines") == 0)
      engines_file = argv[i + 1];
    else if (strcmp(argv[i], "--at-once") == 0)
      at_hand_count = strtoul(argv[i + 1], NULL, 10);
    else if (strcmp(argv[i], "--discoveries") == 0)
      discoveries = atoi(argv[i + 1]);
    else if (strcmp(argv[i], "--user") == 0)
      user_name = argv[i + 1];
    else
      die("unknown option");
  }
  if (units_file == NULL || requests_file == NULL || at_hand_count == 0)
    die("--units and --requests are needed");
  start_library();
  read_lines(units_file, read_unit);
  read_lines(requests_file, read_request);
  if (discoveries == 0 && unit_count > 0 && units[0].engine_size == 0)
    die("engines are unknown: add --discoveries 1");
  at_hand = must(calloc(at_hand_count, sizeof *at_hand));
  epoll_set = epoll_create1(EPOLL_CLOEXEC);
  run();
  if (engines_file != NULL) write_engines(engines_file);
  printf("sent %lu answered %lu units %zu unanswered %lu refused %lu\n", sent, answered, unit_count,
         unanswered, refused);
  return unanswered > 0 || refused > 0 || answered != sent;
}
