// Who may come in, and which operation is asked. What operations do stands in the files of their
// subjects.
#include "app/service/service.h"

#include "app/service/parts.h"

namespace roomwright::app {

struct Service::State {
  State(Store& store, ServiceOptions options) : desk(store, std::move(options)) {}
  Desk desk;
};

namespace {

job::Keep in_store(Store& store) {
  return {[&store](const std::string& key) { return store.kept(key); },
          [&store](const std::string& key, const std::string& value) { store.keep(key, value); }};
}

job::Keep solutions_of(Store& store, const ServiceOptions& options) {
  return options.kept_folder.empty() ? in_store(store) : job::keep_in(options.kept_folder);
}

}  // namespace

Desk::Desk(Store& store_given, ServiceOptions options_given)
    : store(store_given),
      options(std::move(options_given)),
      listeners(store),
      devices(store, options),
      solutions(solutions_of(store, options)),
      stages({solutions, in_store(store), build_of_program(),
              [this](const StageProgress& progress) { listeners.progress(progress); }, 96u << 20,
              options.sound_field}),
      drafts(solutions),
      journals(store),
      facts(store) {}

Service::Service(Store& store, ServiceOptions options)
    : state_(std::make_unique<State>(store, std::move(options))) {}

Service::~Service() {
  close();
}

// ---- admission ----------------------------------------------------------------------------------

namespace {

/// What a body may be called. A page of another origin cannot send these without being asked first.
bool kind_fits(const Operation& operation, const std::string& sent) {
  if (operation.most_body == 0) return true;
  std::string kind = sent.substr(0, sent.find(';'));
  while (!kind.empty() && kind.back() == ' ') kind.pop_back();
  if (operation.id == "put_file") return kind == "application/octet-stream";
  if (operation.id == "import_job") return kind == "application/toml" || kind == "application/json";
  return kind == "application/json";
}

PageAnswer not_allowed(const Route& route) {
  PageAnswer out = refused(405, "", "is not asked in this way");
  std::string methods;
  for (const std::string& one : route.allowed) methods += (methods.empty() ? "" : ", ") + one;
  out.headers.emplace_back("Allow", methods);
  return out;
}

bool contains(const std::vector<Role>& roles, Role role) {
  return std::find(roles.begin(), roles.end(), role) != roles.end();
}

/// Who asks: on the machine itself the office; elsewhere a paired device.
bool know(Devices& devices, const RequestHead& head, Admission& out) {
  out.who = role_names()[std::size_t(Role::office)];
  if (head.loopback) return true;
  const auto device = devices.holder(head.secret);
  if (!device) return false;
  out.role = device->role;
  out.who = device->name;
  out.device = device->id;
  return true;
}

std::optional<PageAnswer> refusal_of(const Route& route, const RequestHead& head, Role role) {
  if (route.allowed.empty())
    return refused(404, "address", "leads to nothing here", "open the page again");
  if (!route.operation) return not_allowed(route);
  const auto& roles = route.operation->roles;
  if (!roles.empty() && !contains(roles, role))
    return refused(403, "", "is not for a device of the " + role_names()[std::size_t(role)],
                   "ask the office");
  if (!kind_fits(*route.operation, head.content_type))
    return refused(415, "Content-Type", "is not what is asked for here");
  return std::nullopt;
}

}  // namespace

namespace {

Admission admitted(Desk& desk, const RequestHead& head) {
  Admission out;
  const std::string_view target = head.target;
  const auto words =
      target.size() > most_target ? std::nullopt : path_words(target.substr(0, target.find('?')));
  if (!words || !query_of(target)) {
    out.refusal = refused(400, "address", "is broken or too long", "open the page again");
    return out;
  }
  const Route route = route_of(head.method, *words);
  const bool open = route.operation && route.operation->roles.empty();
  if (!know(desk.devices, head, out) && !open) {
    out.refusal = refused(401, "", "this device is not paired", "ask the office for a code");
    return out;
  }
  if (auto refusal = refusal_of(route, head, out.role)) {
    out.refusal = std::move(*refusal);
    return out;
  }
  if (open && desk.devices.deaf_to(head.peer)) {
    out.refusal = refused(429, "code", "was guessed too often", "wait ten minutes");
    return out;
  }
  out.ok = true;
  out.operation = route.operation->id;
  out.words = route.words;
  out.pace = route.operation->pace;
  out.most_body = route.operation->most_body;
  return out;
}

}  // namespace

Admission Service::admit(const RequestHead& head) {
  try {
    return admitted(state_->desk, head);
  } catch (const std::exception& fault) {
    Admission out;
    out.refusal = refused(500, "", std::string("our own mistake: ") + fault.what());
    return out;
  }
}

PageAnswer Service::answer(const Admission& admission, const RequestHead& head,
                           std::string_view body, const std::atomic<bool>& gone,
                           const PartWriter& part) {
  Desk& desk = state_->desk;
  if (!admission.ok) return admission.refusal;
  if (desk.closing) return refused(503, "", "the program is closing", "start it again");
  if (body.size() > admission.most_body)
    return refused(413, "", "is larger than what is taken here",
                   admission.most_body ? "send less" : "send no body");
  const Handler handler = handler_of(admission.operation);
  if (!handler) return refused(404, admission.operation, "is not answered in this way");
  const Asked asked{admission, head, body, query_of(head.target).value_or(Query{}), gone, part};
  try {
    return handler(desk, asked);
  } catch (const std::exception& fault) {
    return refused(500, "", std::string("our own mistake: ") + fault.what());
  }
}

Handler handler_of(std::string_view operation) {
  static const std::map<std::string_view, Handler> all = {
      {"state", answer_state},
      {"library", answer_library},
      {"jobs", answer_jobs},
      {"create_job", answer_create_job},
      {"import_job", answer_import_job},
      {"export_job", answer_export_job},
      {"stage", answer_stage},
      {"draft", answer_draft},
      {"inspections", answer_inspections},
      {"measured", answer_measured},
      {"advice", answer_advice},
      {"papers", answer_papers},
      {"paper", answer_paper},
      {"alternatives", answer_alternatives},
      {"add_alternative", answer_add_alternative},
      {"take_alternative", answer_take_alternative},
      {"remove_alternative", answer_remove_alternative},
      {"documents", answer_documents},
      {"document", answer_document},
      {"remove_document", answer_remove_document},
      {"document_text", answer_document_text},
      {"replace_document", answer_replace_document},
      {"edit", answer_edit},
      {"undo", answer_undo},
      {"redo", answer_redo},
      {"history", answer_history},
      {"files", answer_files},
      {"put_file", answer_put_file},
      {"file_bytes", answer_file_bytes},
      {"remove_file", answer_remove_file},
      {"entries", answer_entries},
      {"append", answer_append},
      {"stock", answer_stock},
      {"times", answer_times},
      {"write_times", answer_write_times},
      {"calendar", answer_calendar},
      {"clients", answer_clients},
      {"export_client", answer_export_client},
      {"erase_client", answer_erase_client},
      {"devices", answer_devices},
      {"pairing_code", answer_pairing_code},
      {"pair", answer_pair},
      {"unpair", answer_unpair},
  };
  const auto found = all.find(operation);
  return found == all.end() ? nullptr : found->second;
}

// ---- events, closing ----------------------------------------------------------------------------

std::uint64_t Service::listen(std::int64_t after, Role role,
                              std::function<void(const PageEvent&)> heard,
                              const std::string& device) {
  Desk& desk = state_->desk;
  const std::uint64_t listener = desk.listeners.add(after, role, device, std::move(heard));
  // It may have been unpaired since it was admitted.
  if (!device.empty() && !desk.devices.paired(device)) desk.listeners.end(device);
  return listener;
}

void Service::forget(std::uint64_t listener) {
  state_->desk.listeners.forget(listener);
}

void Service::changed(std::int64_t sequence) {
  state_->desk.listeners.changed(sequence);
}

void Service::close() {
  Desk& desk = state_->desk;
  desk.closing = true;
  {
    const std::lock_guard lock(desk.drafting);
    for (const auto& [page, cancel] : desk.drafts_by_page) *cancel = true;
  }
  desk.stages.close();
}

}  // namespace roomwright::app
