// Who may come in, which operation is asked, and who hears what was written. What operations do
// stands in the files of their subjects.
#include "app/service/service.h"

#include "app/service/parts.h"

namespace roomwright::app {

struct Service::State {
  State(Store& store, ServiceOptions options) : desk(store, std::move(options)) {}
  Desk desk;
  std::mutex hearing;
  struct Listener {
    Role role;
    std::function<void(const PageEvent&)> heard;
  };
  std::map<std::uint64_t, Listener> listeners;
  std::uint64_t last_listener = 0;
  std::int64_t told = 0;  ///< sequence of the last change that listeners heard
};

Service::Service(Store& store, ServiceOptions options)
    : state_(std::make_unique<State>(store, std::move(options))) {
  if (const auto now = store.sequence()) state_->told = *now;
}

Service::~Service() {
  close();
}

// ---- admission ----------------------------------------------------------------------------------

namespace {

/// What a body may be called. A page of another origin cannot send these without being asked first.
bool kind_fits(const Operation& operation, const std::string& sent) {
  if (operation.most_body == 0) return true;
  const std::string kind = sent.substr(0, sent.find(';'));
  if (operation.id == "put_file") return kind == "application/octet-stream";
  if (operation.id == "import_job") return kind == "application/toml" || kind == "application/json";
  return kind == "application/json";
}

PageAnswer not_allowed(const Route& route) {
  PageAnswer out = refused(405, "", "is not asked in this way", "");
  std::string methods;
  for (const std::string& one : route.allowed) methods += (methods.empty() ? "" : ", ") + one;
  out.headers.emplace_back("Allow", methods);
  return out;
}

}  // namespace

Admission Service::admit(const RequestHead& head) {
  Admission out;
  const auto refuse = [&](PageAnswer answer) {
    out.refusal = std::move(answer);
    return out;
  };
  const auto words =
      head.target.size() > most_target
          ? std::nullopt
          : path_words(std::string_view(head.target).substr(0, head.target.find('?')));
  if (!words || !query_of(head.target))
    return refuse(refused(400, "address", "is broken or too long", "open the page again"));
  const Route route = route_of(head.method, *words);
  const bool open = route.operation && route.operation->roles.empty();
  out.who = "office";
  if (!head.loopback && !open)
    return refuse(refused(401, "", "this device is not paired", "ask the office for a code"));
  if (route.allowed.empty())
    return refuse(refused(404, "address", "leads to nothing here", "open the page again"));
  if (!route.operation) return refuse(not_allowed(route));
  const auto& roles = route.operation->roles;
  if (!open && std::find(roles.begin(), roles.end(), out.role) == roles.end())
    return refuse(refused(403, "", "is not for this device's role", "ask the office"));
  if (!kind_fits(*route.operation, head.content_type))
    return refuse(refused(415, "Content-Type", "is not what is asked for here", ""));
  out.ok = true;
  out.operation = route.operation->id;
  out.words = route.words;
  out.pace = route.operation->pace;
  out.most_body = route.operation->most_body;
  return out;
}

PageAnswer Service::answer(const Admission& admission, const RequestHead& head,
                           std::string_view body, const std::atomic<bool>& gone,
                           const PartWriter& part) {
  Desk& desk = state_->desk;
  if (!admission.ok) return admission.refusal;
  if (desk.closing) return refused(503, "", "the program is closing", "start it again");
  const Handler handler = handler_of(admission.operation);
  if (!handler) return refused(501, admission.operation, "is not built yet", "");
  const Asked asked{admission, head, body, query_of(head.target).value_or(Query{}), gone, part};
  try {
    return handler(desk, asked);
  } catch (const std::exception& fault) {
    return refused(500, "", std::string("our own mistake: ") + fault.what(), "");
  }
}

Handler handler_of(std::string_view operation) {
  static const std::map<std::string_view, Handler> all = {
      {"state", answer_state},
      {"jobs", answer_jobs},
      {"document", answer_document},
      {"edit", answer_edit},
  };
  const auto found = all.find(operation);
  return found == all.end() ? nullptr : found->second;
}

// ---- events -------------------------------------------------------------------------------------

namespace {

bool may_hear(Role role, const Change& change) {
  return role == Role::office || change.topic != "devices";
}

PageEvent event_of(const Change& change) {
  return {change.sequence, "change",
          json_text({{"sequence", change.sequence},
                     {"topic", change.topic},
                     {"id", change.id},
                     {"version", change.version}},
                    -1)};
}

}  // namespace

std::int64_t events_after(const RequestHead& head) {
  const auto query = query_of(head.target);
  std::string text = head.last_event_id;
  if (text.empty() && query && query->contains("after")) text = query->at("after");
  if (text.empty() || text.size() > 18) return -1;
  std::int64_t out = 0;
  for (const char sign : text) {
    if (sign < '0' || sign > '9') return -1;
    out = out * 10 + (sign - '0');
  }
  return out;
}

std::uint64_t Service::listen(std::int64_t after, Role role,
                              std::function<void(const PageEvent&)> heard) {
  const std::lock_guard lock(state_->hearing);
  for (std::int64_t from = after; from >= 0 && from < state_->told;) {
    const auto missed = state_->desk.store.changes(from);
    if (!missed || missed->empty()) break;
    for (const Change& change : *missed)
      if (change.sequence <= state_->told && may_hear(role, change)) heard(event_of(change));
    from = missed->back().sequence;
  }
  state_->listeners[++state_->last_listener] = {role, std::move(heard)};
  return state_->last_listener;
}

void Service::forget(std::uint64_t listener) {
  const std::lock_guard lock(state_->hearing);
  state_->listeners.erase(listener);
}

void Service::changed(std::int64_t sequence) {
  const std::lock_guard lock(state_->hearing);
  while (state_->told < sequence) {
    const auto fresh = state_->desk.store.changes(state_->told);
    if (!fresh || fresh->empty()) return;
    for (const Change& change : *fresh)
      for (const auto& [number, listener] : state_->listeners)
        if (may_hear(listener.role, change)) listener.heard(event_of(change));
    state_->told = fresh->back().sequence;
  }
}

void Service::close() {
  state_->desk.closing = true;
}

}  // namespace roomwright::app
