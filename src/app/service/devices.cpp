// Devices of the local network: a code of six digits pairs one, for ten minutes and once; then it
// comes in by a secret of 256 random bits. Of the secret the store keeps the SHA-256 and nothing
// else. A plain hash is enough for that: a slow one protects words that people choose, and nobody
// can try through 2^256. A code can be tried through; so whoever guesses wrong too often is not
// heard for a while, and after ten wrong ones in all every open code is void.
//
// Invariants. (1) A code works once. (2) No answer and no entry holds a secret but the answer that
// hands it over. (3) A device that was unpaired never comes in again: its entry is followed by one
// that says so.
#include <chrono>
#include <cmath>

#include "app/service/parts.h"
#include "drawing/drawing.h"

namespace roomwright::app {

namespace {

constexpr const char* devices_journal = "devices";
constexpr std::int64_t code_lasts_s = 10 * 60, deaf_for_s = 10 * 60, seen_step_s = 60 * 60;
constexpr int wrong_by_peer = 5, wrong_in_all = 10;
constexpr std::size_t most_codes = 8, most_peers = 1000, most_devices = 500;

int number_at(const std::string& text, std::size_t at, std::size_t count) {
  int out = 0;
  for (std::size_t i = at; i < at + count && i < text.size(); ++i)
    out = out * 10 + std::clamp(text[i] - '0', 0, 9);
  return out;
}

std::string two(int value) {
  return (value < 10 ? "0" : "") + std::to_string(value);
}

std::size_t role_at(const std::string& name) {
  const auto& names = role_names();
  return std::size_t(std::find(names.begin(), names.end(), name) - names.begin());
}

}  // namespace

std::int64_t seconds_of(const std::string& when) {
  using namespace std::chrono;
  const sys_days day = year{number_at(when, 0, 4)} / month{unsigned(number_at(when, 5, 2))} /
                       std::chrono::day{unsigned(number_at(when, 8, 2))};
  return std::int64_t(day.time_since_epoch().count()) * 86'400 + number_at(when, 11, 2) * 3600 +
         number_at(when, 14, 2) * 60 + number_at(when, 17, 2);
}

std::string time_of(std::int64_t seconds) {
  using namespace std::chrono;
  const auto days = sys_days(std::chrono::days(seconds / 86'400));
  const int rest = int(seconds % 86'400);
  const year_month_day date(days);
  return std::to_string(int(date.year())) + "-" + two(int(unsigned(date.month()))) + "-" +
         two(int(unsigned(date.day()))) + "T" + two(rest / 3600) + ":" + two(rest / 60 % 60) + ":" +
         two(rest % 60) + "Z";
}

Devices::Devices(Store& store, const ServiceOptions& options) : store_(store), options_(options) {}

Result<Done> Devices::read_journal() {
  EntryFilter filter;
  filter.after = read_to_;
  filter.most = 10'000'000;
  const auto entries = store_.entries(devices_journal, filter);
  if (!entries) return entries.mistakes();
  for (const Entry& entry : *entries) {
    read_to_ = entry.number;
    const Json body = Json::parse(entry.body, nullptr, false);
    if (!body.is_object()) continue;
    const std::string event = body.value("event", "");
    if (event == "paired" && role_at(body.value("role", "")) < role_names().size()) {
      devices_[entry.subject] = {entry.subject, body.value("name", ""),
                                 Role(role_at(body.value("role", ""))), entry.when, entry.when};
      id_by_secret_[body.value("secret_sha256", "")] = entry.subject;
    } else if (event == "unpaired") {
      devices_.erase(entry.subject);
      std::erase_if(id_by_secret_, [&](const auto& one) { return one.second == entry.subject; });
    } else if (const auto found = devices_.find(entry.subject);
               event == "seen" && found != devices_.end()) {
      found->second.seen = entry.when;
    }
  }
  return Done{};
}

Result<Done> Devices::write(const Json& body, const std::string& id, const std::string& who) {
  const auto kept = store_.append(devices_journal, std::nullopt, {{id, "", json_text(body, -1)}},
                                  {who, options_.now(), {}});
  if (!kept) return kept.mistakes();
  return read_journal();
}

std::optional<PairedDevice> Devices::holder(const std::string& secret) {
  if (secret.empty() || secret.size() > 200) return std::nullopt;
  const std::lock_guard lock(mutex_);
  if (!read_journal()) return std::nullopt;
  const auto found = id_by_secret_.find(sha256_hex(secret));
  if (found == id_by_secret_.end()) return std::nullopt;
  PairedDevice& device = devices_.at(found->second);
  // Kept once an hour: enough to know which device has gone, without a write for each request.
  if (seconds_of(options_.now()) - seconds_of(device.seen) >= seen_step_s)
    (void)write({{"event", "seen"}}, device.id, device.name);
  return device;
}

std::vector<PairedDevice> Devices::all() {
  const std::lock_guard lock(mutex_);
  (void)read_journal();
  std::vector<PairedDevice> out;
  for (const auto& [id, device] : devices_) out.push_back(device);
  return out;
}

bool Devices::paired(const std::string& id) {
  const std::lock_guard lock(mutex_);
  (void)read_journal();
  return devices_.contains(id);
}

bool Devices::deaf_to(const std::string& peer) {
  const std::lock_guard lock(mutex_);
  const auto found = wrong_by_peer_.find(peer);
  if (found == wrong_by_peer_.end()) return false;
  if (seconds_of(options_.now()) - found->second.second >= deaf_for_s) {
    wrong_by_peer_.erase(found);
    return false;
  }
  return found->second.first >= wrong_by_peer;
}

Devices::Code Devices::new_code(Role role, const std::string& name) {
  const std::lock_guard lock(mutex_);
  const std::int64_t now = seconds_of(options_.now());
  std::erase_if(codes_, [&](const OpenCode& one) { return one.ends_s <= now; });
  if (codes_.size() >= most_codes) codes_.erase(codes_.begin());
  std::uint64_t bits = 0;
  const std::string random = options_.secret();
  for (std::size_t i = 0; i < 15 && i < random.size(); ++i) {
    const char sign = random[i];
    bits = bits * 16 + std::uint64_t(sign <= '9' ? sign - '0' : sign - 'a' + 10);
  }
  std::string code = std::to_string(bits % 1'000'000);
  code.insert(0, 6 - code.size(), '0');
  codes_.push_back({sha256_hex(code), name, role, now + code_lasts_s});
  wrong_ = 0;
  return {code, time_of(now + code_lasts_s)};
}

std::string Devices::own_name(const std::string& wish) const {
  const auto taken = [&](const std::string& name) {
    return name == role_names()[std::size_t(Role::office)] ||
           std::any_of(devices_.begin(), devices_.end(),
                       [&](const auto& one) { return one.second.name == name; });
  };
  std::string out = wish;
  for (int k = 2; taken(out); ++k) out = wish + " " + std::to_string(k);
  return out;
}

Devices::PairResult Devices::pair(const std::string& code, const std::string& name,
                                  const std::string& peer) {
  const std::lock_guard lock(mutex_);
  PairResult out;
  if (const auto read = read_journal(); !read) {
    out.faults = read.mistakes();
    return out;
  }
  const std::int64_t now = seconds_of(options_.now());
  std::erase_if(codes_, [&](const OpenCode& one) { return one.ends_s <= now; });
  const std::string hash = sha256_hex(code);
  const auto found = std::find_if(codes_.begin(), codes_.end(),
                                  [&](const OpenCode& one) { return one.hash == hash; });
  if (found == codes_.end()) {
    if (wrong_by_peer_.size() > most_peers) wrong_by_peer_.clear();
    auto& [count, since] = wrong_by_peer_[peer];
    if (count++ == 0) since = now;
    if (++wrong_ >= wrong_in_all) codes_.clear();
    out.too_many = count >= wrong_by_peer || wrong_ >= wrong_in_all;
    out.faults.add("code", "is not open", {}, "ask the office for a new one; it lasts ten minutes");
    return out;
  }
  if (devices_.size() >= most_devices) {
    out.faults.add("", "there are too many devices", {}, "take those away that are gone");
    return out;
  }
  Paired made;
  made.secret = options_.secret();
  made.device.id = "d" + options_.secret().substr(0, 12);
  made.device.name = own_name(found->name.empty() ? name : found->name);
  made.device.role = found->role;
  made.device.paired = made.device.seen = options_.now();
  const auto kept = write({{"event", "paired"},
                           {"name", made.device.name},
                           {"role", role_names()[std::size_t(made.device.role)]},
                           {"secret_sha256", sha256_hex(made.secret)}},
                          made.device.id, made.device.name);
  if (!kept) {
    out.faults = kept.mistakes();
    return out;
  }
  codes_.erase(found);
  wrong_by_peer_.erase(peer);
  wrong_ = 0;
  out.paired = std::move(made);
  return out;
}

Result<PairedDevice> Devices::unpair(const std::string& id, const Stamp& stamp) {
  const std::lock_guard lock(mutex_);
  if (const auto read = read_journal(); !read) return read.mistakes();
  const auto found = devices_.find(id);
  if (found == devices_.end())
    return Complaint{id, "is no paired device", {}, "look at the list of devices", 0};
  PairedDevice gone = found->second;
  const auto kept = write({{"event", "unpaired"}}, id, stamp.who);
  if (!kept) return kept.mistakes();
  return gone;
}

// ---- requests -----------------------------------------------------------------------------------

namespace {

Json device_json(const PairedDevice& device) {
  return {{"id", device.id},
          {"name", device.name},
          {"role", role_names()[std::size_t(device.role)]},
          {"paired", device.paired},
          {"seen", device.seen}};
}

/// The code's dark modules as one path of rectangles, in modules from the quiet zone's corner.
Result<Json> qr_json(const std::string& text) {
  drawing::Sheet sheet;
  const auto module_mm = drawing::qr_code(sheet, text, {0, 0}, 1);
  if (!module_mm) return module_mm.mistakes();
  std::string path;
  for (const drawing::Shape& shape : sheet.shapes) {
    const auto* outline = std::get_if<drawing::Path>(&shape);
    if (!outline || outline->points.empty()) continue;
    for (std::size_t i = 0; i < outline->points.size(); ++i)
      path += (i == 0 ? "M" : "L") +
              std::to_string(std::lround(outline->points[i].x / *module_mm)) + " " +
              std::to_string(std::lround(outline->points[i].y / *module_mm));
    path += "Z";
  }
  return Json{{"modules", std::lround(1 / *module_mm)}, {"path", path}};
}

}  // namespace

PageAnswer answer_devices(Desk& desk, const Asked&) {
  Json out = Json::array();
  for (const PairedDevice& device : desk.devices.all()) out.push_back(device_json(device));
  return json_answer(out);
}

PageAnswer answer_pairing_code(Desk& desk, const Asked& asked) {
  Body body(asked);
  std::size_t role = 0;
  std::string name;
  if (body.found.empty()) {
    Reader in(body.tree, "", body.found);
    role = in.one_of("role", role_names()).value_or(0);
    name = text_or_none(in, "name", 80);
    in.finish();
  }
  if (!body.found.empty()) return refused(400, body.found);
  const std::string& address = desk.options.lan_address;
  if (address.empty())
    return refused(409, "", "no device of the local network can reach the program",
                   "start it so that it listens on the local network");
  const Devices::Code code = desk.devices.new_code(Role(role), name);
  const auto qr = qr_json(address + "/#/pair/" + code.code);
  if (!qr) return refused(500, qr.mistakes());
  PageAnswer out = json_answer(
      {{"code", code.code}, {"address", address}, {"expires", code.expires}, {"qr", *qr}}, 201);
  out.headers.emplace_back("Cache-Control", "no-store");
  return out;
}

PageAnswer answer_pair(Desk& desk, const Asked& asked) {
  Body body(asked);
  std::string code, name;
  if (body.found.empty()) {
    Reader in(body.tree, "", body.found);
    code = in.text("code", "six digits", 40);
    name = in.text("name", "what the shop calls this device", 80);
    in.finish();
  }
  if (!body.found.empty()) return refused(400, body.found);
  std::erase_if(code, [](char sign) { return sign == ' ' || sign == '-'; });
  if (desk.devices.deaf_to(asked.head.peer))
    return refused(429, "code", "was guessed too often", "wait ten minutes");
  auto result = desk.devices.pair(code, name, asked.head.peer);
  if (!result.paired) return refused(result.too_many ? 429 : 403, result.faults);
  PageAnswer out = json_answer(device_json(result.paired->device));
  out.headers.emplace_back("Cache-Control", "no-store");
  // Scripts of the page cannot read it, and no other site can make the browser send it.
  out.headers.emplace_back("Set-Cookie",
                           std::string(device_cookie) + "=" + result.paired->secret +
                               "; Path=/; Max-Age=34560000; HttpOnly; Secure; SameSite=Strict");
  return out;
}

PageAnswer answer_unpair(Desk& desk, const Asked& asked) {
  const auto gone = desk.devices.unpair(asked.word(0), desk.stamp(asked));
  if (gone) desk.listeners.end(gone->id);
  return gone ? json_answer(device_json(*gone)) : refused(404, gone.mistakes());
}

}  // namespace roomwright::app
