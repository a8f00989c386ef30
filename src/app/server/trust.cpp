// See trust.h.
#include "app/server/trust.h"

namespace roomwright::app {

namespace {

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '<')
      out += "&lt;";
    else if (c == '&')
      out += "&amp;";
    else if (c == '"')
      out += "&quot;";
    else
      out += c;
  }
  return out;
}

std::string frame(const std::string& inside) {
  return "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\n"
         "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
         "<meta name=\"color-scheme\" content=\"light dark\">\n"
         "<title>Trust this shop's certificate</title>\n"
         "<link rel=\"stylesheet\" href=\"/trust/look.css\"></head>\n<body><main>\n" +
         inside + "</main></body></html>\n";
}

/// The fingerprint in groups that two people can read to each other.
std::string in_lines(const std::string& fingerprint) {
  std::string out;
  for (std::size_t i = 0; i < fingerprint.size(); i += 24)
    out += (i ? "<br>" : "") + fingerprint.substr(i, 23);
  return out;
}

std::string instructions(const TrustPage& page) {
  return frame(
      "<h1>Phones and tablets of the shop</h1>\n"
      "<p>They reach this program at <b>" +
      escaped(page.lan_address) +
      "</b>. Until a device trusts "
      "the shop's own certificate its browser warns, and does not keep the page for work without a "
      "network.</p>\n"
      "<ol>\n<li>Compare this fingerprint on both screens, the device's and the office's "
      "(<code>/trust</code> there too). If they differ, stop: somebody stands between.\n<p><code>" +
      in_lines(page.certificate.fingerprint) +
      "</code></p></li>\n"
      "<li><a href=\"/trust/roomwright.crt\">Download the certificate</a>.</li>\n"
      "<li>Tell the device that it is to trust it. Where depends on the device; mostly one of "
      "these:\n<ul><li>Settings, General, VPN and device management: install the profile; then "
      "Settings, General, About, Certificate trust: switch it on.</li>\n"
      "<li>Settings, Security, Encryption and credentials, Install a certificate, CA certificate: "
      "choose the downloaded file.</li>\n"
      "<li>On a computer: import it in the browser's or the system's settings as an authority for "
      "web pages.</li></ul></li>\n"
      "<li>Open <a href=\"" +
      escaped(page.lan_address) + "/\">" + escaped(page.lan_address) +
      "</a> and type the code that the office page gives.</li>\n</ol>\n"
      "<p>What the device trusts by this: addresses of private networks and of the network that "
      "this "
      "machine was on when the certificate was made, and names that end in <code>.local</code>; "
      "nothing else on the internet. It holds until " +
      escaped(page.certificate.until) +
      ". Take it off a device that leaves the shop, and unpair the device in the office.</p>\n");
}

const char* look =
    "body{font:1rem/1.5 system-ui,sans-serif;margin:0}main{max-width:40rem;margin:0 auto;"
    "padding:1rem}h1{font-size:1.4rem}li{margin:.6rem "
    "0}code{font-size:.95em;overflow-wrap:anywhere}";

PageAnswer of(int status, std::string type, std::string body) {
  PageAnswer out;
  out.status = status;
  out.content_type = std::move(type);
  out.body = std::move(body);
  out.headers = {{"Cache-Control", "no-store"}};
  return out;
}

}  // namespace

PageAnswer answer_trust(const TrustPage& page, std::string_view path) {
  if (path == "/trust/look.css") return of(200, "text/css; charset=utf-8", look);
  if (page.lan_address.empty()) {
    if (path != "/trust") return of(404, "text/plain; charset=utf-8", "There is no such page.\n");
    return of(200, "text/html; charset=utf-8",
              frame("<h1>The local network is off</h1>\n<p>Start the program with <code>roomwright "
                    "serve --lan</code>, and phones and tablets of the shop can reach it.</p>\n"));
  }
  if (path == "/trust") return of(200, "text/html; charset=utf-8", instructions(page));
  if (path == "/trust/roomwright.crt") {
    PageAnswer out = of(200, "application/x-x509-ca-cert", authority_der(page.certificate));
    out.headers.emplace_back("Content-Disposition", "attachment; filename=\"roomwright.crt\"");
    return out;
  }
  return of(404, "text/plain; charset=utf-8", "There is no such page.\n");
}

}  // namespace roomwright::app
