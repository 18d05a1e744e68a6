# SPDX-License-Identifier: GPL-3.0-or-later
# Completion of bitterend for bash: commands first, then options and files.
_bitterend() {
  local word=${COMP_WORDS[COMP_CWORD]}
  if [ "$COMP_CWORD" -eq 1 ]; then
    COMPREPLY=($(compgen -W "read new enter strength standings versus publish serve check demo --help" -- "$word"))
  elif [[ $word == -* ]]; then
    COMPREPLY=($(compgen -W "--help --json --csv" -- "$word"))
  else
    COMPREPLY=($(compgen -f -- "$word"))
  fi
}
complete -o filenames -F _bitterend bitterend
