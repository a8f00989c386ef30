// The shop's own certificates, verified by OpenSSL as a phone would.
#include <gtest/gtest.h>
#include <openssl/err.h>
#include <openssl/pem.h>
#include <openssl/x509v3.h>
#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "app/server/certificate.h"
#include "app/server/trust.h"

namespace roomwright::app {
namespace {

namespace cert_fs = std::filesystem;
constexpr std::int64_t today_s = 1'795'000'000, a_day_s = 86'400;  // November 2026

class Certificates : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = (cert_fs::temp_directory_path() / ("roomwright_lan_" + std::to_string(::getpid())))
                  .string();
    cert_fs::remove_all(folder_);
  }
  void TearDown() override { cert_fs::remove_all(folder_); }
  ServerCertificate made(const CertificateNames& names, std::int64_t now_s = today_s) {
    auto out = certificate_for(folder_, names, now_s);
    EXPECT_TRUE(out.ok()) << out.mistakes().text();
    return out ? *out : ServerCertificate{};
  }
  static X509* read(const std::string& pem) {
    BIO* memory = BIO_new_mem_buf(pem.data(), int(pem.size()));
    X509* out = PEM_read_bio_X509(memory, nullptr, nullptr, nullptr);
    BIO_free(memory);
    return out;
  }
  /// Would a client that trusts the authority talk to this name?
  static bool trusted(const ServerCertificate& certificate, const std::string& name, bool address,
                      std::int64_t now_s = today_s) {
    X509* own = read(certificate.chain_pem);
    X509* authority = read(certificate.authority_pem);
    X509_STORE* store = X509_STORE_new();
    X509_STORE_add_cert(store, authority);
    X509_STORE_CTX* check = X509_STORE_CTX_new();
    X509_STORE_CTX_init(check, store, own, nullptr);
    X509_VERIFY_PARAM* wish = X509_STORE_CTX_get0_param(check);
    X509_VERIFY_PARAM_set_time(wish, time_t(now_s));
    X509_VERIFY_PARAM_set_purpose(wish, X509_PURPOSE_SSL_SERVER);
    if (address)
      X509_VERIFY_PARAM_set1_ip_asc(wish, name.c_str());
    else
      X509_VERIFY_PARAM_set1_host(wish, name.c_str(), 0);
    const bool good = X509_verify_cert(check) == 1;
    ERR_clear_error();
    X509_STORE_CTX_free(check);
    X509_STORE_free(store);
    X509_free(authority);
    X509_free(own);
    return good;
  }
  std::string folder_;
  const CertificateNames names_{{{"192.168.1.20", "255.255.255.0"}, {"192.0.2.2", "255.255.255.0"}},
                                "shop-desk"};
};

TEST_F(Certificates, vouch_for_the_machine_s_names_and_no_others) {
  const ServerCertificate one = made(names_);
  EXPECT_TRUE(one.renewed);
  for (const char* name : {"192.168.1.20", "192.0.2.2", "127.0.0.1"})
    EXPECT_TRUE(trusted(one, name, true)) << name;
  for (const char* name : {"shop-desk.local", "shop-desk", "localhost"})
    EXPECT_TRUE(trusted(one, name, false)) << name;
  EXPECT_FALSE(trusted(one, "192.168.1.21", true));
  EXPECT_FALSE(trusted(one, "bank.example", false));
  EXPECT_FALSE(trusted(one, "192.168.1.20", true, today_s + 398 * a_day_s)) << "it ends";
  EXPECT_EQ(one.fingerprint.size(), 95u);
}

TEST_F(Certificates, stay_the_same_from_start_to_start) {
  const ServerCertificate one = made(names_), two = made(names_, today_s + a_day_s);
  EXPECT_EQ(one.chain_pem, two.chain_pem);
  EXPECT_EQ(one.key_pem, two.key_pem);
  EXPECT_FALSE(two.renewed);
}

TEST_F(Certificates,
       are_renewed_under_the_same_authority_before_they_end_and_when_the_machine_moves) {
  const ServerCertificate one = made(names_);
  const ServerCertificate later = made(names_, today_s + 370 * a_day_s);
  EXPECT_TRUE(later.renewed);
  EXPECT_EQ(later.fingerprint, one.fingerprint) << "phones trust it still";
  EXPECT_TRUE(trusted(later, "192.168.1.20", true, today_s + 400 * a_day_s));
  const ServerCertificate moved = made({{{"10.0.0.7", "255.0.0.0"}}, "shop-desk"}, today_s);
  EXPECT_TRUE(moved.renewed);
  EXPECT_EQ(moved.fingerprint, one.fingerprint);
  EXPECT_TRUE(trusted(moved, "10.0.0.7", true));
  EXPECT_FALSE(trusted(moved, "192.168.1.20", true));
}

TEST_F(Certificates, a_stolen_authority_could_not_pose_as_a_public_address) {
  made(names_);
  // A machine that has moved to a public address and another name: neither is vouched for.
  const ServerCertificate moved =
      made({{{"8.8.8.8", "255.255.255.0"}, {"192.168.7.7", "255.255.255.0"}}, "bank"});
  EXPECT_FALSE(trusted(moved, "8.8.8.8", true));
  EXPECT_TRUE(trusted(moved, "192.168.7.7", true)) << "what it may vouch for, it does";
  EXPECT_FALSE(trusted(moved, "bank", false));
}

TEST_F(Certificates, keys_are_for_their_owner_alone) {
  made(names_);
  for (const char* name : {"", "/authority.pem", "/machine.pem"}) {
    struct stat about {};
    ASSERT_EQ(::stat((folder_ + name).c_str(), &about), 0);
    EXPECT_EQ(about.st_mode & 077, 0u) << name;
  }
}

TEST_F(Certificates, a_damaged_authority_is_told_and_a_damaged_machine_s_own_is_made_anew) {
  const ServerCertificate one = made(names_);
  std::ofstream(folder_ + "/machine.pem") << "rubbish";
  const ServerCertificate two = made(names_);
  EXPECT_TRUE(two.renewed);
  EXPECT_EQ(two.fingerprint, one.fingerprint);
  std::ofstream(folder_ + "/authority.pem") << "rubbish";
  const auto none = certificate_for(folder_, names_, today_s);
  ASSERT_FALSE(none.ok());
  EXPECT_NE(none.mistakes().text().find("authority.pem: is damaged"), std::string::npos);
}

TEST_F(Certificates, a_folder_that_cannot_be_made_is_told) {
  const auto none = certificate_for("/nowhere/at/all", names_, today_s);
  ASSERT_FALSE(none.ok());
  EXPECT_NE(none.mistakes().text().find("/nowhere/at/all"), std::string::npos);
}

TEST_F(Certificates, the_page_on_trust_tells_the_fingerprint_and_gives_the_certificate) {
  const TrustPage page{"https://192.168.1.20:8138", made(names_)};
  const PageAnswer told = answer_trust(page, "/trust");
  EXPECT_EQ(told.status, 200);
  EXPECT_NE(told.body.find(page.certificate.fingerprint.substr(0, 23)), std::string::npos);
  EXPECT_NE(told.body.find(page.certificate.fingerprint.substr(72)), std::string::npos);
  EXPECT_EQ(told.body.find("<script"), std::string::npos);
  const PageAnswer file = answer_trust(page, "/trust/roomwright.crt");
  EXPECT_EQ(file.content_type, "application/x-x509-ca-cert");
  const unsigned char* bytes = reinterpret_cast<const unsigned char*>(file.body.data());
  X509* paper = d2i_X509(nullptr, &bytes, long(file.body.size()));
  ASSERT_NE(paper, nullptr);
  EXPECT_EQ(X509_check_ca(paper), 1);
  X509_free(paper);
  EXPECT_EQ(answer_trust(page, "/trust/authority.pem").status, 404) << "the key is not to be had";
  EXPECT_NE(answer_trust({}, "/trust").body.find("--lan"), std::string::npos);
  EXPECT_EQ(answer_trust({}, "/trust/roomwright.crt").status, 404);
}

}  // namespace
}  // namespace roomwright::app
