// The local network: TLS under the shop's own certificate, and nothing for a device that is not
// paired.
#include <arpa/inet.h>
#include <openssl/err.h>
#include <openssl/ssl.h>
#include <poll.h>
#include <sys/stat.h>

#include <fstream>
#include <sstream>

#include "server/serving.h"

namespace roomwright::served {
namespace {

/// A connection of a client that trusts the shop's authority and nobody else.
class SecureLine : public Line {
 public:
  SecureLine(int port, const std::string& name, const std::string& authority, int version = 0)
      : Line(port), context_(SSL_CTX_new(TLS_client_method())) {
    SSL_CTX_set_verify(context_, SSL_VERIFY_PEER, nullptr);
    if (!authority.empty()) SSL_CTX_load_verify_locations(context_, authority.c_str(), nullptr);
    if (version) {
      SSL_CTX_set_security_level(context_, 0);  // else the client itself refuses old versions
      SSL_CTX_set_min_proto_version(context_, version);
      SSL_CTX_set_max_proto_version(context_, version);
    }
    tls_ = SSL_new(context_);
    in_addr ignored{};
    if (::inet_pton(AF_INET, name.c_str(), &ignored) == 1)
      X509_VERIFY_PARAM_set1_ip_asc(SSL_get0_param(tls_), name.c_str());
    else
      SSL_set1_host(tls_, name.c_str());
    SSL_set_fd(tls_, socket_);
    met_ = SSL_connect(tls_) == 1;
    ERR_clear_error();
  }
  ~SecureLine() override {
    SSL_free(tls_);
    SSL_CTX_free(context_);
  }
  bool met() const { return met_; }
  std::string version() const { return SSL_get_version(tls_); }
  bool send(std::string_view bytes) override {
    return met_ && SSL_write(tls_, bytes.data(), int(bytes.size())) == int(bytes.size());
  }

 protected:
  long receive(char* to, std::size_t most, double seconds) override {
    if (!met_) return 0;
    pollfd look{socket_, POLLIN, 0};
    if (SSL_pending(tls_) == 0 && ::poll(&look, 1, int(seconds * 1000)) <= 0) return -1;
    const int got = SSL_read(tls_, to, int(most));
    ERR_clear_error();
    return got > 0 ? got : 0;
  }

 private:
  SSL_CTX* context_;
  SSL* tls_ = nullptr;
  bool met_ = false;
};

class Lan : public Serving {
 protected:
  void SetUp() override {
    Serving::SetUp();
    served_ = serve({"--lan"});
    authority_ = store() + ".lan/authority.pem";
  }
  std::string lan_host() const {
    return served_->lan_host() + ":" + std::to_string(served_->lan_port());
  }
  Answer far(const std::string& method, const std::string& target, const std::string& body = "",
             const std::string& secret = "", Fields more = {}) {
    SecureLine line(served_->lan_port(), served_->lan_host(), authority_);
    EXPECT_TRUE(line.met());
    if (!body.empty()) more.emplace_back("Content-Type", "application/json");
    if (!secret.empty()) more.emplace_back("Cookie", "roomwright=" + secret);
    line.send(request_text(lan_host(), method, target, body, more));
    return line.read(20, method == "HEAD");
  }
  /// A device of this role; its secret.
  std::string paired(const std::string& role, const std::string& name) {
    const Answer code = served_->ask("POST", "/api/devices/codes", Json({{"role", role}}).dump());
    EXPECT_EQ(code.status, 201) << code.body;
    EXPECT_EQ(json(code).value("address", ""), "https://" + lan_host());
    const Answer pair = far("POST", "/api/devices/pair",
                            Json({{"code", json(code).value("code", "")}, {"name", name}}).dump());
    EXPECT_EQ(pair.status, 200) << pair.body;
    const std::string cookie = pair.header("set-cookie");
    EXPECT_EQ(cookie.rfind("roomwright=", 0), 0u) << cookie;
    for (const char* guard : {"HttpOnly", "Secure", "SameSite=Strict"})
      EXPECT_NE(cookie.find(guard), std::string::npos) << cookie;
    return cookie.substr(11, cookie.find(';') - 11);
  }
  std::unique_ptr<Served> served_;
  std::string authority_;
};

TEST_F(Lan, speaks_tls_under_a_certificate_of_the_shop_s_own) {
  EXPECT_FALSE(served_->lan_host().empty());
  for (const int version : {TLS1_2_VERSION, TLS1_3_VERSION}) {
    SecureLine line(served_->lan_port(), served_->lan_host(), authority_, version);
    EXPECT_TRUE(line.met()) << line.version();
  }
  SecureLine old(served_->lan_port(), served_->lan_host(), authority_, TLS1_1_VERSION);
  EXPECT_FALSE(old.met()) << "TLS 1.1 is not spoken";
  SecureLine stranger(served_->lan_port(), served_->lan_host(), "");
  EXPECT_FALSE(stranger.met()) << "who does not trust the shop's authority does not get in";
  SecureLine other(served_->lan_port(), "bank.example", authority_);
  EXPECT_FALSE(other.met());
  struct stat about {};
  ASSERT_EQ(::stat(authority_.c_str(), &about), 0);
  EXPECT_EQ(about.st_mode & 0777, 0600u);
}

TEST_F(Lan, who_speaks_plainly_is_shown_the_way) {
  Line line(served_->lan_port());
  line.send(request_text(lan_host(), "GET", "/"));
  const Answer answer = line.read();
  EXPECT_EQ(answer.status, 307);
  EXPECT_EQ(answer.header("location"), "https://" + lan_host() + "/trust");
}

TEST_F(Lan, a_device_that_is_not_paired_gets_the_page_and_no_word_of_the_shop) {
  for (const char* target : {"/api/state", "/api/jobs", "/api/library", "/api/events",
                             "/api/files/1", "/api/documents/x", "/api/devices", "/api/stock"})
    EXPECT_EQ(far("GET", target).status, 401) << target;
  EXPECT_EQ(far("POST", "/api/jobs", R"({"start":"demo","token":"t"})").status, 401);
  EXPECT_EQ(far("GET", "/api/state", "", std::string(64, 'a')).status, 401) << "a guessed secret";
  EXPECT_EQ(far("GET", "/").status, 200);
  const Answer trust = far("GET", "/trust");
  EXPECT_EQ(trust.status, 200);
  EXPECT_NE(trust.body.find(lan_host()), std::string::npos);
  EXPECT_EQ(far("GET", "/trust/roomwright.crt").header("content-type"),
            "application/x-x509-ca-cert");
  EXPECT_EQ(json(served_->ask("GET", "/api/jobs")).size(), 0u);
}

TEST_F(Lan, a_paired_device_has_its_role_until_it_is_unpaired) {
  demo(*served_);
  const std::string secret = paired("bench", "tablet at the saw");
  const Answer state = far("GET", "/api/state", "", secret);
  EXPECT_EQ(state.status, 200) << state.body;
  EXPECT_EQ(json(state).value("role", ""), "bench");
  EXPECT_EQ(json(state).value("who", ""), "tablet at the saw");
  EXPECT_EQ(far("GET", "/api/devices", "", secret).status, 403);
  EXPECT_EQ(far("POST", "/api/jobs", R"({"start":"demo","token":"t"})", secret).status, 403);
  EXPECT_EQ(far("POST", "/api/journals/ticks", "{}", secret, {{"Origin", "https://other.example"}})
                .status,
            403);
  const Json devices = json(served_->ask("GET", "/api/devices"));
  ASSERT_EQ(devices.size(), 1u);
  SecureLine stream(served_->lan_port(), served_->lan_host(), authority_);
  stream.send(
      request_text(lan_host(), "GET", "/api/events", "", {{"Cookie", "roomwright=" + secret}}));
  EXPECT_NE(stream.until("retry:").find("200 OK"), std::string::npos);
  EXPECT_EQ(served_->ask("DELETE", "/api/devices/" + devices[0].value("id", "")).status, 200);
  EXPECT_EQ(far("GET", "/api/state", "", secret).status, 401);
}

TEST_F(Lan, the_events_of_a_device_end_when_it_is_unpaired_and_no_other_s_do) {
  const std::string lost = paired("bench", "lost"), kept = paired("site", "kept");
  const auto listening = [&](const std::string& secret) {
    auto line = std::make_unique<SecureLine>(served_->lan_port(), served_->lan_host(), authority_);
    line->send(
        request_text(lan_host(), "GET", "/api/events", "", {{"Cookie", "roomwright=" + secret}}));
    EXPECT_NE(line->until("retry:").find("200 OK"), std::string::npos);
    return line;
  };
  const auto of_lost = listening(lost), of_kept = listening(kept);
  std::string id;
  for (const Json& one : json(served_->ask("GET", "/api/devices")))
    if (one.value("name", "") == "lost") id = one.value("id", "");
  const auto before = std::chrono::steady_clock::now();
  EXPECT_EQ(served_->ask("DELETE", "/api/devices/" + id).status, 200);
  EXPECT_NE(of_lost->until("\r\n0\r\n\r\n", 5).find("\r\n0\r\n\r\n"), std::string::npos)
      << "the stream comes to its end";
  EXPECT_LT(std::chrono::steady_clock::now() - before, std::chrono::seconds(5))
      << "well before the next heartbeat";
  demo(*served_);
  EXPECT_NE(of_kept->until("event: change", 5).find("event: change"), std::string::npos);
}

TEST_F(Lan, names_that_are_not_this_machine_s_are_turned_away_there_too) {
  SecureLine line(served_->lan_port(), served_->lan_host(), authority_);
  line.send(request_text("rebound.example:" + std::to_string(served_->lan_port()), "GET", "/"));
  EXPECT_EQ(line.read().status, 421);
}

TEST_F(Lan, one_device_cannot_ask_without_end) {
  SecureLine line(served_->lan_port(), served_->lan_host(), authority_);
  int served = 0, refused = 0;
  for (int i = 0; i < 700 && refused < 5; ++i) {
    line.send(request_text(lan_host(), "GET", "/nothing"));
    const int status = line.read().status;
    served += status == 404;
    refused += status == 429;
  }
  EXPECT_GE(served, 200) << "a page that opens asks for a lot at once";
  EXPECT_EQ(refused, 5);
  EXPECT_TRUE(healthy(*served_)) << "the office is not held up";
}

TEST_F(Lan, devices_trust_the_same_authority_after_a_restart) {
  std::ifstream first(authority_);
  std::stringstream before;
  before << first.rdbuf();
  EXPECT_EQ(served_->stop(), 0);
  served_ = serve({"--lan"});
  std::ifstream second(authority_);
  std::stringstream after;
  after << second.rdbuf();
  EXPECT_EQ(before.str(), after.str());
}

}  // namespace
}  // namespace roomwright::served
