# Completion of vergeset in bash. The program itself says what may stand next (src/cli/complete.h).
_vergeset() {
  local words=() word about cut= i
  # bash parts a line at = too; --fleet=DIR is one word to the program.
  for ((i = 1; i <= COMP_CWORD; i++)); do
    word=${COMP_WORDS[i]}
    word=${word#[\'\"]}
    if ((i > 1)) && [[ $word == = || ${COMP_WORDS[i - 1]} == = ]]; then
      words[-1]+=$word
    else
      words+=("$word")
    fi
  done
  [[ ${words[-1]} == --*=* ]] && cut=${words[-1]%%=*}=
  COMPREPLY=()
  while read -r word about; do
    case $word in
      :files)
        compopt -o filenames 2>/dev/null
        mapfile -t COMPREPLY < <(compgen -f -- "${words[-1]#"$cut"}")
        ;;
      :folders)
        compopt -o filenames 2>/dev/null
        mapfile -t COMPREPLY < <(compgen -d -- "${words[-1]#"$cut"}")
        ;;
      *) COMPREPLY+=("${word#"$cut"}") ;;
    esac
  done < <("${COMP_WORDS[0]}" complete "${words[@]}" 2>/dev/null)
}
complete -F _vergeset vergeset
