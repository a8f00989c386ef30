// Completion scripts; see completion.h.
#include "app/cli/completion.h"

namespace roomwright::app {

namespace {

constexpr const char* commands =
    "check survey findings treatment build price hang proof pack order fill tune places "
    "pressure listen together times calc serve store stock inspect completion";
constexpr const char* store_commands =
    "list import export history undo redo edit remove check backup restore files attach fetch "
    "client erase";
constexpr const char* stock_commands =
    "list open receive use count reserve release built order history undo";
constexpr const char* inspect_commands = "sheet record list rework certificate";
constexpr const char* kinds =
    "absorber cutting decay diffuser fixing impulse layout modes rating reflections response";

std::string bash_script() {
  return std::string(
             "_roomwright() {\n"
             "  local word=${COMP_WORDS[COMP_CWORD]}\n"
             "  case ${COMP_WORDS[1]}:$COMP_CWORD in\n"
             "    *:1) COMPREPLY=($(compgen -W '--help --version ") +
         commands +
         "' -- \"$word\")) ;;\n"
         "    calc:2) COMPREPLY=($(compgen -W '" +
         kinds +
         "' -- \"$word\")) ;;\n"
         "    store:2) COMPREPLY=($(compgen -W '" +
         store_commands +
         "' -- \"$word\")) ;;\n"
         "    stock:2) COMPREPLY=($(compgen -W '" +
         stock_commands +
         "' -- \"$word\")) ;;\n"
         "    inspect:2) COMPREPLY=($(compgen -W '" +
         inspect_commands +
         "' -- \"$word\")) ;;\n"
         "    completion:2) COMPREPLY=($(compgen -W 'bash zsh fish' -- \"$word\")) ;;\n"
         "    *) [[ $word == -* ]] && COMPREPLY=($(compgen -W '--json --out --before --after "
         "--sweep --dry --rays --deepest --instead-of "
         "--store --port --lan --no-open --help' -- \"$word\")) "
         "||\n"
         "       COMPREPLY=($(compgen -f -- \"$word\")) ;;\n"
         "  esac\n"
         "}\n"
         "complete -o filenames -F _roomwright roomwright\n";
}

std::string zsh_script() {
  return std::string(
             "#compdef roomwright\n"
             "_roomwright() {\n"
             "  case $CURRENT:$words[2] in\n"
             "    2:*) compadd -- --help --version ") +
         commands +
         " ;;\n"
         "    3:calc) compadd -- " +
         kinds +
         " ;;\n"
         "    3:store) compadd -- " +
         store_commands +
         " ;;\n"
         "    3:stock) compadd -- " +
         stock_commands +
         " ;;\n"
         "    3:inspect) compadd -- " +
         inspect_commands +
         " ;;\n"
         "    3:completion) compadd -- bash zsh fish ;;\n"
         "    *) [[ $PREFIX == -* ]] && compadd -- --json --out --before --after "
         "--sweep --dry --rays --deepest --instead-of --hz "
         "--half-width --store --port --lan --no-open --help || "
         "_files ;;\n"
         "  esac\n"
         "}\n"
         "_roomwright \"$@\"\n";
}

std::string fish_script() {
  return std::string("complete -c roomwright -n __fish_use_subcommand -f -a '") + commands +
         "'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from calc' -f -a '" +
         kinds +
         "'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from completion' -f -a 'bash zsh "
         "fish'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from store' -f -a '" +
         store_commands +
         "'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from stock' -f -a '" +
         stock_commands +
         "'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from inspect' -f -a '" +
         inspect_commands +
         "'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from serve' -l port -x -d 'where on "
         "this machine'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from serve' -l store -r -F -d 'the "
         "store'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from serve' -l lan -d 'also on the "
         "local network'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from serve' -l no-open -d 'no "
         "browser'\n"
         "complete -c roomwright -l json -d 'print JSON for programs'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from pack proof listen pressure' -l "
         "out -r "
         "-d 'folder "
         "to "
         "write'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from proof pack' -l before -r -F -d "
         "'recordings before hanging'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from proof pack' -l after -r -F -d "
         "'recordings after hanging'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from proof pack' -l sweep -r -F -d "
         "'what was played'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from findings treatment' -l rays -d "
         "'trace rays too'\n"
         "complete -c roomwright -n '__fish_seen_subcommand_from listen' -l dry -r -F -d 'the dry "
         "take'\n";
}

}  // namespace

std::string completion_script(const std::string& shell) {
  if (shell == "zsh") return zsh_script();
  return shell == "fish" ? fish_script() : bash_script();
}

}  // namespace roomwright::app
