# Completion of vergeset in fish. The program itself says what may stand next (src/cli/complete.h).
function __vergeset_complete
    set -l typed (commandline -ct)
    set -l words (commandline -opc) "$typed"
    set -l cut (string match -r -- '^--[^=]*=' "$typed")
    set -l path (string replace -- "$cut" '' "$typed")
    for line in ($words[1] complete $words[2..-1] 2>/dev/null)
        switch $line
            case :files
                printf '%s\n' "$cut"(__fish_complete_path $path)
            case :folders
                printf '%s\n' "$cut"(__fish_complete_directories $path)
            case '*'
                string replace -- ' ' \t "$line"
        end
    end
end
complete -c vergeset -f -a '(__vergeset_complete)'
