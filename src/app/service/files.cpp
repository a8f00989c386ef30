// Photos, recordings, certificates, plans: kept by their bytes, given back whole or in part. What a
// browser could run (pages, drawings with scripts) is never shown in place: it comes as bytes to be
// saved, under a kind that is told by the bytes themselves and by no name that somebody gave.
#include "app/service/parts.h"

namespace roomwright::app {

namespace {

/// What may be shown in place, by the first bytes. Sources: the signatures of the formats' own
/// standards (PNG ISO/IEC 15948, JPEG ISO/IEC 10918-1, PDF ISO 32000, RIFF/WAVE, FLAC RFC 9639),
/// from memory.
std::string kind_of_bytes(std::string_view bytes) {
  const auto begins = [&](std::string_view with) { return bytes.starts_with(with); };
  if (begins("\x89PNG\r\n\x1a\n")) return "image/png";
  if (begins("\xff\xd8\xff")) return "image/jpeg";
  if (begins("GIF87a") || begins("GIF89a")) return "image/gif";
  if (begins("RIFF") && bytes.size() >= 12 && bytes.substr(8, 4) == "WEBP") return "image/webp";
  if (begins("RIFF") && bytes.size() >= 12 && bytes.substr(8, 4) == "WAVE") return "audio/wav";
  if (begins("fLaC")) return "audio/flac";
  if (begins("%PDF-")) return "application/pdf";
  return "application/octet-stream";
}

Json contract_file(const StoredFile& file) {
  return {{"id", file.id},
          {"note",
           {{"name", file.note.name},
            {"kind", file.note.kind},
            {"document", file.note.document},
            {"piece", file.note.piece},
            {"place", file.note.place}}},
          {"sha256", file.sha256},
          {"bytes", file.bytes},
          {"who", file.who},
          {"when", file.when},
          {"removed", file.removed}};
}

std::optional<std::int64_t> file_number(const std::string& word) {
  if (word.empty() || word.size() > 15) return std::nullopt;
  std::int64_t out = 0;
  for (const char sign : word) {
    if (sign < '0' || sign > '9') return std::nullopt;
    out = out * 10 + (sign - '0');
  }
  return out;
}

PageAnswer no_file(const std::string& word) {
  return refused(404, word, "is no file here", "look at the list of files");
}

/// A name for the header Content-Disposition: what is not plain is percent-encoded.
std::string header_name(const std::string& name) {
  std::string out;
  for (const char sign : name) {
    const auto byte = static_cast<unsigned char>(sign);
    const bool plain = (byte >= '0' && byte <= '9') || (byte >= 'a' && byte <= 'z') ||
                       (byte >= 'A' && byte <= 'Z') || sign == '.' || sign == '-' || sign == '_';
    constexpr const char* digits = "0123456789ABCDEF";
    if (plain)
      out += sign;
    else
      out += {'%', digits[byte >> 4], digits[byte & 15]};
  }
  return out;
}

/// A longer file goes out piece by piece.
constexpr std::int64_t most_held_bytes = 1 << 20;

/// `bytes=0-99`, `bytes=100-`, `bytes=-50` (RFC 9110, 14.1.2, from memory). Anything else, several
/// ranges too, is answered whole, as that standard allows.
struct Piece {
  bool asked = false, holds = true;
  std::int64_t from = 0, count = 0;
};
Piece range_of(const std::string& header, std::int64_t size) {
  Piece out{false, true, 0, size};
  if (!header.starts_with("bytes=") || header.find(',') != std::string::npos) return out;
  const std::string rest = header.substr(6);
  const auto dash = rest.find('-');
  if (dash == std::string::npos) return out;
  const std::string first = rest.substr(0, dash), last = rest.substr(dash + 1);
  const auto from = file_number(first), to = file_number(last);
  if ((!first.empty() && !from) || (!last.empty() && !to) || (!from && !to)) return out;
  if (from && to && *from > *to) return out;
  out.asked = true;
  out.from = from ? *from : std::max<std::int64_t>(0, size - *to);
  const std::int64_t end = !from ? size : to ? std::min(size, *to + 1) : size;
  out.count = end - out.from;
  out.holds = out.from < size && out.count > 0;
  return out;
}

}  // namespace

PageAnswer answer_files(Desk& desk, const Asked& asked) {
  const std::string document = asked.query_word("document");
  const auto files = desk.store.files(document);
  if (!files) return refused(500, files.mistakes());
  Json out = Json::array();
  for (const StoredFile& file : *files)
    if (!file.removed) out.push_back(contract_file(file));
  return json_answer(out);
}

PageAnswer answer_put_file(Desk& desk, const Asked& asked) {
  const FileNote note{asked.query_word("name"), asked.query_word("kind"),
                      asked.query_word("document"), asked.query_word("piece"),
                      asked.query_word("place")};
  if (asked.admission.role != Role::office && note.kind != "photo" && note.kind != "recording")
    return refused(403, "kind", "must be photo or recording from the bench or the site",
                   "tell the office");
  if (!note.document.empty())
    if (auto refusal = desk.missing(note.document)) return *refusal;
  const auto kept =
      desk.store.put_file(note, asked.body, desk.stamp(asked, asked.query_word("token")));
  if (!kept) return refused(400, kept.mistakes());
  return json_answer(contract_file(*kept), 201);
}

PageAnswer answer_file_bytes(Desk& desk, const Asked& asked) {
  const auto id = file_number(asked.word(0));
  const auto file = id ? desk.store.file(*id) : Result<StoredFile>(Complaint{});
  if (!file) return no_file(asked.word(0));
  const Piece range = range_of(asked.head.range, file->bytes);
  if (range.asked && !range.holds) {
    PageAnswer out = refused(416, "Range", "lies outside the file");
    out.headers.emplace_back("Content-Range", "bytes */" + std::to_string(file->bytes));
    return out;
  }
  const auto first = desk.store.file_bytes(*id, 0, 16);
  const bool held = range.count <= most_held_bytes;
  auto bytes = desk.store.file_bytes(*id, range.from, held ? range.count : 0);
  if (!first || !bytes) return refused(500, (first ? bytes : first).mistakes());
  const std::string kind = kind_of_bytes(*first);
  const bool shown = kind != "application/octet-stream";
  PageAnswer out{range.asked ? 206 : 200, kind, std::move(*bytes), {}};
  if (!held) {
    out.length = range.count;
    out.piece = [&store = desk.store, number = *id, begin = range.from](std::int64_t from,
                                                                        std::int64_t count) {
      auto part = store.file_bytes(number, begin + from, count);
      return part ? std::move(*part) : std::string();
    };
  }
  out.headers = {{"X-Content-Type-Options", "nosniff"},
                 {"Content-Disposition", std::string(shown ? "inline" : "attachment") +
                                             "; filename*=UTF-8''" + header_name(file->note.name)},
                 {"Accept-Ranges", "bytes"},
                 {"ETag", "\"" + file->sha256.substr(0, 32) + "\""}};
  // A browser's own viewer of PDF does not open in a sandbox; it runs nothing of the page's.
  if (kind != "application/pdf")
    out.headers.emplace_back("Content-Security-Policy", "default-src 'none'; sandbox");
  if (range.asked)
    out.headers.emplace_back("Content-Range", "bytes " + std::to_string(range.from) + "-" +
                                                  std::to_string(range.from + range.count - 1) +
                                                  "/" + std::to_string(file->bytes));
  return out;
}

PageAnswer answer_remove_file(Desk& desk, const Asked& asked) {
  const auto id = file_number(asked.word(0));
  if (!id || !desk.store.file(*id)) return no_file(asked.word(0));
  const auto removed = desk.store.set_file_removed(*id, true, desk.stamp(asked));
  const auto file = removed ? desk.store.file(*id) : Result<StoredFile>(removed.mistakes());
  return file ? json_answer(contract_file(*file)) : refused(422, file.mistakes());
}

}  // namespace roomwright::app
