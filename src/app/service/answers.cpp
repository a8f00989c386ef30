// Answers in the contract's words: refusals, the store's answers to writes, numbers of a query,
// bodies.
#include "app/service/parts.h"

namespace roomwright::app {

PageAnswer json_answer(const Json& json, int status) {
  return {status, "application/json", json_text(json, -1), {}};
}

PageAnswer refused(int status, const Diagnostics& found) {
  return json_answer(json_of(found), status);
}

PageAnswer refused(int status, Complaint complaint) {
  Diagnostics found;
  found.add(std::move(complaint));
  return refused(status, found);
}

PageAnswer refused(int status, std::string where, std::string what, std::string remedy) {
  return refused(status, Complaint{std::move(where), std::move(what), {}, std::move(remedy), 0});
}

Json contract_step(const Step& step) {
  return {{"version", step.version},
          {"sequence", step.sequence},
          {"kind", step_kind_names()[std::size_t(step.kind)]},
          {"of", step.of},
          {"who", step.who},
          {"when", step.when},
          {"note", step.note},
          {"edits", job::edits_json(step.edits)},
          {"layout_kept", step.layout_kept}};
}

Json contract_saved(const Saved& saved) {
  Json out = {{"version", saved.version},   {"sequence", saved.sequence},
              {"merged", saved.merged},     {"layout_kept", saved.layout_kept},
              {"conflicts", Json::array()}, {"since", Json::array()}};
  for (const job::Conflict& one : saved.conflicts) {
    Json row = {{"at", one.at}};
    for (const auto& [key, text] :
         {std::pair{"was", &one.was}, {"now", &one.now}, {"mine", &one.mine}}) {
      if (text->empty()) continue;
      Json value = Json::parse(*text, nullptr, false);
      row[key] = value.is_discarded() ? Json(*text) : std::move(value);
    }
    out["conflicts"].push_back(std::move(row));
  }
  for (const Step& step : saved.since) out["since"].push_back(contract_step(step));
  return out;
}

PageAnswer saved_answer(const Saved& saved) {
  return json_answer(contract_saved(saved), saved.conflicts.empty() ? 200 : 409);
}

std::int64_t query_number(const Asked& asked, const std::string& key, Diagnostics& found) {
  const std::string text = asked.query_word(key);
  std::int64_t out = 0;
  bool good = text.size() <= 15;
  for (const char sign : text) {
    good = good && sign >= '0' && sign <= '9';
    if (good) out = out * 10 + (sign - '0');
  }
  if (good) return out;
  found.add(key, "must be a whole number, 0 or more", text.substr(0, 40), "leave it out");
  return 0;
}

Result<int> asked_version(const Asked& asked) {
  Diagnostics found;
  const auto version = query_number(asked, "version", found);
  if (!found.empty()) return found;
  return int(std::min<std::int64_t>(version, 1 << 30));
}

Body::Body(const Asked& asked) {
  auto parsed = parse_json(asked.body, 32u << 20);
  if (!parsed) {
    found = parsed.mistakes();
  } else if (!parsed->is_object()) {
    found.add("", "must be an object", shown(*parsed));
  } else {
    tree = std::move(*parsed);
  }
}

std::string text_or_none(Reader& in, std::string_view key, std::size_t most) {
  const auto found = in.tree().find(key);
  if (found != in.tree().end() && found->is_string() && found->get<std::string>().empty()) {
    (void)in.raw(key);
    return {};
  }
  return in.text_or(key, "", most);
}

std::string read_token(Reader& in) {
  return in.text("token", "a word of your own for this one write", 200);
}

Stamp Desk::stamp(const Asked& asked, const std::string& token) const {
  Stamp out{asked.admission.who, options.now(), {}};
  if (token.empty()) return out;
  // The sender's word counts for one operation on one thing: the same word elsewhere is another.
  std::string whole = asked.admission.operation;
  for (const std::string& word : asked.admission.words) whole += "\n" + word;
  out.token = sha256_hex(whole + "\n" + token);
  return out;
}

std::optional<PageAnswer> Desk::missing(const std::string& id) const {
  const auto found = store.document(id);
  if (!found) return refused(404, found.mistakes());
  if (found->head.erased)
    return refused(404, id, "was erased", "what had to be kept can be read, not changed");
  return std::nullopt;
}

}  // namespace roomwright::app
