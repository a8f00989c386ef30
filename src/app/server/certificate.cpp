// See certificate.h. Keys are P-256; the machine's own certificate lives 397 days, the authority
// ten years.
#include "app/server/certificate.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <openssl/bio.h>
#include <openssl/ec.h>
#include <openssl/err.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/rand.h>
#include <openssl/x509.h>
#include <openssl/x509v3.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cstring>
#include <ctime>
#include <filesystem>
#include <memory>
#include <optional>

namespace roomwright::app {

namespace {

constexpr std::int64_t day_s = 86'400;
constexpr std::int64_t authority_days = 3650, own_days = 397, renew_days = 30;

template <auto Free>
struct Freed {
  template <class T>
  void operator()(T* one) const {
    Free(one);
  }
};
using Key = std::unique_ptr<EVP_PKEY, Freed<EVP_PKEY_free>>;
using Paper = std::unique_ptr<X509, Freed<X509_free>>;
using Memory = std::unique_ptr<BIO, Freed<BIO_free_all>>;
using Extension = std::unique_ptr<X509_EXTENSION, Freed<X509_EXTENSION_free>>;

/// What a folder keeps.
struct Pair {
  Key key;
  Paper paper;
};

std::string text_of(BIO* memory) {
  char* data = nullptr;
  const long size = BIO_get_mem_data(memory, &data);
  return size > 0 ? std::string(data, std::size_t(size)) : std::string();
}

std::string pem_of(X509* paper) {
  const Memory memory(BIO_new(BIO_s_mem()));
  PEM_write_bio_X509(memory.get(), paper);
  return text_of(memory.get());
}

std::string pem_of(EVP_PKEY* key) {
  const Memory memory(BIO_new(BIO_s_mem()));
  PEM_write_bio_PrivateKey(memory.get(), key, nullptr, nullptr, 0, nullptr, nullptr);
  return text_of(memory.get());
}

/// Both from one text; nullopt where either is broken or they do not belong together.
std::optional<Pair> pair_of(const std::string& text) {
  const Memory first(BIO_new_mem_buf(text.data(), int(text.size())));
  Pair out;
  out.key.reset(PEM_read_bio_PrivateKey(first.get(), nullptr, nullptr, nullptr));
  const Memory second(BIO_new_mem_buf(text.data(), int(text.size())));
  out.paper.reset(PEM_read_bio_X509(second.get(), nullptr, nullptr, nullptr));
  ERR_clear_error();
  if (!out.key || !out.paper || X509_check_private_key(out.paper.get(), out.key.get()) != 1)
    return std::nullopt;
  return out;
}

/// For its owner alone from its first byte on; whole or absent.
Result<Done> write_secret(const std::string& path, const std::string& text) {
  const auto failed = [&] {
    return Complaint{path,
                     std::string("cannot be written: ") + std::strerror(errno),
                     {},
                     "give write permission, or leave --lan out",
                     0};
  };
  const std::string beside = path + ".new";
  const int file = ::open(beside.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  if (file < 0) return failed();
  const bool written = ::fchmod(file, 0600) == 0 &&
                       ::write(file, text.data(), text.size()) == ssize_t(text.size()) &&
                       ::fsync(file) == 0;
  if (::close(file) != 0 || !written || ::rename(beside.c_str(), path.c_str()) != 0) {
    const Complaint out = failed();
    ::unlink(beside.c_str());
    return out;
  }
  return Done{};
}

bool add_extension(X509* paper, X509* issuer, int kind, const std::string& value) {
  X509V3_CTX context;
  X509V3_set_ctx_nodb(&context);
  X509V3_set_ctx(&context, issuer, paper, nullptr, nullptr, 0);
  const Extension extension(X509V3_EXT_conf_nid(nullptr, &context, kind, value.c_str()));
  return extension && X509_add_ext(paper, extension.get(), -1) == 1;
}

Paper blank(EVP_PKEY* key, const std::string& name, std::int64_t now_s, std::int64_t days) {
  Paper paper(X509_new());
  unsigned char serial[16] = {};
  if (!paper || RAND_bytes(serial, sizeof serial) != 1) return nullptr;
  serial[0] &= 0x7F;
  const std::unique_ptr<BIGNUM, Freed<BN_free>> number(BN_bin2bn(serial, sizeof serial, nullptr));
  BN_to_ASN1_INTEGER(number.get(), X509_get_serialNumber(paper.get()));
  X509_set_version(paper.get(), 2);
  // A day back: a phone's clock may be behind.
  ASN1_TIME_set(X509_getm_notBefore(paper.get()), std::time_t(now_s - day_s));
  ASN1_TIME_set(X509_getm_notAfter(paper.get()), std::time_t(now_s + days * day_s));
  X509_NAME_add_entry_by_txt(X509_get_subject_name(paper.get()), "CN", MBSTRING_UTF8,
                             reinterpret_cast<const unsigned char*>(name.c_str()), -1, -1, 0);
  X509_set_pubkey(paper.get(), key);
  return paper;
}

std::string network_of(const LocalAddress& address) {
  in_addr here{}, mask{};
  ::inet_pton(AF_INET, address.text.c_str(), &here);
  ::inet_pton(AF_INET, address.mask.c_str(), &mask);
  here.s_addr &= mask.s_addr;
  char text[INET_ADDRSTRLEN] = {};
  ::inet_ntop(AF_INET, &here, text, sizeof text);
  return std::string(text) + "/" + address.mask;
}

std::optional<Pair> make_authority(const CertificateNames& names, std::int64_t now_s) {
  Pair out{Key(EVP_EC_gen("P-256")), nullptr};
  if (!out.key) return std::nullopt;
  const std::string name =
      "Roomwright" + (names.machine.empty() ? "" : " on " + names.machine) + ", this shop's own";
  out.paper = blank(out.key.get(), name, now_s, authority_days);
  X509* paper = out.paper.get();
  if (!paper) return std::nullopt;
  std::string may =
      "critical,permitted;IP:10.0.0.0/255.0.0.0,permitted;IP:172.16.0.0/255.240.0.0,"
      "permitted;IP:192.168.0.0/255.255.0.0,permitted;IP:169.254.0.0/255.255.0.0,"
      "permitted;IP:127.0.0.0/255.0.0.0,permitted;DNS:local,permitted;DNS:localhost";
  for (const LocalAddress& one : names.addresses) may += ",permitted;IP:" + network_of(one);
  if (!names.machine.empty()) may += ",permitted;DNS:" + names.machine;
  X509_set_issuer_name(paper, X509_get_subject_name(paper));
  const bool good =
      add_extension(paper, paper, NID_basic_constraints, "critical,CA:TRUE,pathlen:0") &&
      add_extension(paper, paper, NID_key_usage, "critical,keyCertSign,cRLSign") &&
      add_extension(paper, paper, NID_subject_key_identifier, "hash") &&
      add_extension(paper, paper, NID_name_constraints, may) &&
      X509_sign(paper, out.key.get(), EVP_sha256()) > 0;
  if (!good) return std::nullopt;
  return out;
}

/// `IP:192.168.1.20,DNS:shop-desk.local,…`
std::string names_of(const CertificateNames& names) {
  std::string out = "DNS:localhost,IP:127.0.0.1";
  if (!names.machine.empty()) out += ",DNS:" + names.machine + ".local,DNS:" + names.machine;
  for (const LocalAddress& one : names.addresses) out += ",IP:" + one.text;
  return out;
}

/// Does the authority's own list of what it may vouch for let this certificate pass?
bool verifies(X509* paper, X509* authority, std::int64_t now_s) {
  const std::unique_ptr<X509_STORE, Freed<X509_STORE_free>> store(X509_STORE_new());
  const std::unique_ptr<X509_STORE_CTX, Freed<X509_STORE_CTX_free>> check(X509_STORE_CTX_new());
  if (!store || !check || X509_STORE_add_cert(store.get(), authority) != 1 ||
      X509_STORE_CTX_init(check.get(), store.get(), paper, nullptr) != 1)
    return false;
  X509_STORE_CTX_set_time(check.get(), 0, std::time_t(now_s));
  const bool good = X509_verify_cert(check.get()) == 1;
  ERR_clear_error();
  return good;
}

std::optional<Pair> make_own(const Pair& authority, const CertificateNames& names,
                             std::int64_t now_s) {
  Pair out{Key(EVP_EC_gen("P-256")), nullptr};
  if (!out.key) return std::nullopt;
  out.paper = blank(out.key.get(), "Roomwright", now_s, own_days);
  X509* paper = out.paper.get();
  if (!paper) return std::nullopt;
  X509_set_issuer_name(paper, X509_get_subject_name(authority.paper.get()));
  const bool good =
      add_extension(paper, authority.paper.get(), NID_basic_constraints, "critical,CA:FALSE") &&
      add_extension(paper, authority.paper.get(), NID_key_usage, "critical,digitalSignature") &&
      add_extension(paper, authority.paper.get(), NID_ext_key_usage, "serverAuth") &&
      add_extension(paper, authority.paper.get(), NID_subject_key_identifier, "hash") &&
      add_extension(paper, authority.paper.get(), NID_authority_key_identifier, "keyid") &&
      add_extension(paper, authority.paper.get(), NID_subject_alt_name, names_of(names)) &&
      X509_sign(paper, authority.key.get(), EVP_sha256()) > 0;
  if (!good) return std::nullopt;
  return out;
}

bool lasts(X509* paper, std::int64_t now_s, std::int64_t days) {
  std::time_t then = std::time_t(now_s + days * day_s);
  return X509_cmp_time(X509_get0_notAfter(paper), &then) > 0;
}

/// The names of a certificate in the order of names_of().
bool has_names(X509* paper, const CertificateNames& names) {
  const std::unique_ptr<GENERAL_NAMES, Freed<GENERAL_NAMES_free>> had(
      static_cast<GENERAL_NAMES*>(X509_get_ext_d2i(paper, NID_subject_alt_name, nullptr, nullptr)));
  X509V3_CTX context;
  X509V3_set_ctx_nodb(&context);
  X509V3_set_ctx(&context, paper, paper, nullptr, nullptr, 0);
  const Extension wanted(
      X509V3_EXT_conf_nid(nullptr, &context, NID_subject_alt_name, names_of(names).c_str()));
  const std::unique_ptr<GENERAL_NAMES, Freed<GENERAL_NAMES_free>> want(
      wanted ? static_cast<GENERAL_NAMES*>(X509V3_EXT_d2i(wanted.get())) : nullptr);
  if (!had || !want || sk_GENERAL_NAME_num(had.get()) != sk_GENERAL_NAME_num(want.get()))
    return false;
  for (int i = 0; i < sk_GENERAL_NAME_num(had.get()); ++i)
    if (GENERAL_NAME_cmp(sk_GENERAL_NAME_value(had.get(), i),
                         sk_GENERAL_NAME_value(want.get(), i)) != 0)
      return false;
  return true;
}

std::string fingerprint_of(X509* paper) {
  unsigned char digest[EVP_MAX_MD_SIZE];
  unsigned size = 0;
  X509_digest(paper, EVP_sha256(), digest, &size);
  constexpr char digits[] = "0123456789ABCDEF";
  std::string out;
  for (unsigned i = 0; i < size; ++i) {
    if (i) out += ':';
    out += digits[digest[i] >> 4];
    out += digits[digest[i] & 15];
  }
  return out;
}

std::string last_day(X509* paper) {
  std::tm at{};
  ASN1_TIME_to_tm(X509_get0_notAfter(paper), &at);
  char text[16];
  std::strftime(text, sizeof text, "%Y-%m-%d", &at);
  return text;
}

Complaint no_make() {
  return {"the certificate", "cannot be made: the cryptographic library refused", {}, "", 0};
}

/// nullopt in the result's value: not there yet.
Result<std::optional<Pair>> read_pair(const std::string& path) {
  if (!std::filesystem::exists(path)) return std::optional<Pair>();
  const auto text = read_file(path, 1u << 16);
  if (!text) return text.mistakes();
  auto pair = pair_of(*text);
  if (!pair)
    return Complaint{path,
                     "is damaged",
                     {},
                     "remove it: another is made, and each phone has to trust it anew",
                     0};
  return Result<std::optional<Pair>>(std::move(pair));
}

Result<Pair> authority_of(const std::string& folder, const CertificateNames& names,
                          std::int64_t now_s) {
  const std::string path = folder + "/authority.pem";
  auto had = read_pair(path);
  if (!had) return had.mistakes();
  if (*had && lasts((*had)->paper.get(), now_s, own_days)) return std::move(**had);
  auto made = make_authority(names, now_s);
  if (!made) return no_make();
  if (const auto written = write_secret(path, pem_of(made->key.get()) + pem_of(made->paper.get()));
      !written)
    return written.mistakes();
  return std::move(*made);
}

/// Without the names that the authority may not vouch for: a machine that has moved to another
/// network of public addresses, say.
Result<Pair> own_of(const std::string& folder, const Pair& authority, CertificateNames names,
                    std::int64_t now_s, bool& renewed) {
  const std::string path = folder + "/machine.pem";
  auto had = read_pair(path);
  // Unlike the authority's, nobody has learned to trust this one: a broken one is made anew.
  if (had && *had && lasts((*had)->paper.get(), now_s, renew_days) &&
      has_names((*had)->paper.get(), names) &&
      verifies((*had)->paper.get(), authority.paper.get(), now_s))
    return std::move(**had);
  auto made = make_own(authority, names, now_s);
  if (made && !verifies(made->paper.get(), authority.paper.get(), now_s)) {
    std::vector<LocalAddress> kept;
    for (const LocalAddress& one : names.addresses) {
      const auto alone = make_own(authority, {{one}, ""}, now_s);
      if (alone && verifies(alone->paper.get(), authority.paper.get(), now_s)) kept.push_back(one);
    }
    const auto named = make_own(authority, {{}, names.machine}, now_s);
    if (!named || !verifies(named->paper.get(), authority.paper.get(), now_s))
      names.machine.clear();
    names.addresses = kept;
    made = make_own(authority, names, now_s);
  }
  if (!made) return no_make();
  if (const auto written = write_secret(path, pem_of(made->key.get()) + pem_of(made->paper.get()));
      !written)
    return written.mistakes();
  renewed = true;
  return std::move(*made);
}

}  // namespace

Result<ServerCertificate> certificate_for(const std::string& folder, const CertificateNames& names,
                                          std::int64_t now_s) {
  if (::mkdir(folder.c_str(), 0700) != 0 && errno != EEXIST)
    return Complaint{folder,
                     std::string("cannot be made: ") + std::strerror(errno),
                     {},
                     "give write permission, or leave --lan out",
                     0};
  auto authority = authority_of(folder, names, now_s);
  if (!authority) return authority.mistakes();
  ServerCertificate out;
  auto own = own_of(folder, *authority, names, now_s, out.renewed);
  if (!own) return own.mistakes();
  out.authority_pem = pem_of(authority->paper.get());
  out.chain_pem = pem_of(own->paper.get()) + out.authority_pem;
  out.key_pem = pem_of(own->key.get());
  out.fingerprint = fingerprint_of(authority->paper.get());
  out.until = last_day(authority->paper.get());
  return out;
}

std::string authority_der(const ServerCertificate& certificate) {
  const Memory memory(
      BIO_new_mem_buf(certificate.authority_pem.data(), int(certificate.authority_pem.size())));
  const Paper paper(PEM_read_bio_X509(memory.get(), nullptr, nullptr, nullptr));
  const Memory out(BIO_new(BIO_s_mem()));
  if (!paper || i2d_X509_bio(out.get(), paper.get()) != 1) return {};
  return text_of(out.get());
}

}  // namespace roomwright::app
